/* What a block did the last time in the same step of a repeated drive: where it begins the next time. */
#ifndef HALFSPLIT_TRANSIENT_MEMORY_H
#define HALFSPLIT_TRANSIENT_MEMORY_H

#include "transient_block.h"

INLINE size_t nodes_kept(const Circuit *c) { return (size_t)(c->pivots - c->static_pivots); }

/* The block's place at the slot of this step, or null. */
INLINE F *memory_of(const Run *r, int64_t number) {
    const Step *step = r->step;
    if (!step->memory || step->slot < 0) return 0;
    size_t place = (size_t)(number * step->slots + step->slot);
    return (F *)(step->memory + 3 * LANES * nodes_kept(r->march->circuit) * place);
}

/* Lanes that were within SAME of where they are now. */
static I remembered(const Run *r) {
    const Circuit *c = r->march->circuit;
    I same = r->memory && r->step->filled ? ~r->none : r->none;
    for (size_t n = 0; any(same) && n < nodes_kept(c); n++) {
        int node = c->program[c->starts[c->static_pivots + n]];
        same &= size_of(r->v[node] - __builtin_convertvector(r->memory[n], V)) < SAME;
    }
    return same;
}

/* now takes the step to stage 1 or 2 of the last time in the lanes that are the same; is kept for
 * the next time. */
static void follow(Run *r, int stage, I same) {
    const Circuit *c = r->march->circuit;
    size_t count = nodes_kept(c);
    F *from = r->memory + (size_t)(stage - 1) * count, *to = from + count;
    for (size_t n = 0; n < count; n++) {
        int node = c->program[c->starts[c->static_pivots + n]];
        V was = stage == 1 ? r->v[node] : r->first_v[node], *now = r->block->now + node;
        V move = __builtin_convertvector(to[n], V) - __builtin_convertvector(from[n], V);
        *now = pick(same, was + move, *now);
        from[n] = __builtin_convertvector(was, F);
    }
}

static void keep(Run *r) {
    const Circuit *c = r->march->circuit;
    size_t count = nodes_kept(c);
    for (size_t n = 0; n < count; n++)
        r->memory[2 * count + n] =
            __builtin_convertvector(r->block->now[c->program[c->starts[c->static_pivots + n]]], F);
}

#endif
