/* Elimination in two parts. Between two iterations only some devices are evaluated again: what lies
 * apart from them is eliminated once for a stage, the pivots they touch, and those above, each time. */
#ifndef HALFSPLIT_TRANSIENT_PARTS_H
#define HALFSPLIT_TRANSIENT_PARTS_H

#include "transient_memory.h"

/* Where each pivot's first neighbour comes in the order. */
static void find_parents(Run *r) {
    const Circuit *c = r->march->circuit;
    for (int n = 0; n < c->pivots; n++) r->place[c->program[c->starts[n]]] = n;
    for (int n = 0; n < c->pivots; n++) {
        const int32_t *pivot = c->program + c->starts[n];
        r->parent[n] = c->pivots;
        for (int k = 0; k < pivot[2]; k++) {
            int above = r->place[pivot[3 + 3 * k + 2]];
            if (above < r->parent[n]) r->parent[n] = above;
        }
    }
}

/* Into a and rhs: devices that move, or those that do not. */
static void add_devices(Run *r, int moving, V *a, V *rhs) {
    const Circuit *c = r->march->circuit;
    const V *push = r->block->push, *g = r->block->g;
    const uint8_t *moves = r->block->moves;
    for (int k = 0; k < c->groups; moves += c->group[k++].members) {
        const Group *group = c->group + k;
        int count = group->terminals, rows = carrying(group->kind);
        if (group->kind <= SOURCE) continue;
        for (int m = 0; m < group->members; m++, push += count, g += count * count) {
            if (moves[m] != moving) continue;
            const int32_t *nodes = group->nodes + m * count, *slots = group->slots + m * count * count;
            for (int e = 0; e < count; e++) {
                if (!(rows >> e & 1)) continue;
                rhs[nodes[e]] += push[e];
                for (int f = 0; f < count; f++) a[slots[e * count + f]] += g[e * count + f];
            }
        }
    }
}

/* Which pivots are in the part that moves: a list of the others, then of these. */
static void divide(Run *r) {
    const Circuit *c = r->march->circuit;
    const uint8_t *moves = r->block->moves;
    uint8_t *moving = r->moving;
    memset(moving, 0, (size_t)c->pivots + 1);
    for (int k = 0; k < c->groups; moves += c->group[k++].members) {
        const Group *group = c->group + k;
        for (int m = 0; m < group->members; m++)
            for (int e = 0; moves[m] && e < group->terminals; e++) {
                int node = group->nodes[m * group->terminals + e];
                if (node < c->size) moving[r->place[node]] = 1;
            }
    }
    r->still = 0;
    for (int n = c->static_pivots; n < c->pivots; n++)
        if (moving[n]) moving[r->parent[n]] = 1;
        else r->list[r->still++] = n;
    r->listed = r->still;
    for (int n = c->static_pivots; n < c->pivots; n++)
        if (moving[n]) r->list[r->listed++] = n;
}

static void factor_listed(const Circuit *c, V *a, V *rhs, const int32_t *list, int count) {
    for (int k = 0; k < count; k++) factor(c, a, rhs, list[k], list[k] + 1);
}

static void back_listed(const Circuit *c, const V *a, V *rhs, const int32_t *list, int count) {
    for (int k = count - 1; k >= 0; k--) back(c, a, rhs, list[k], list[k] + 1);
}

/* The part that stays, eliminated into apart, its currents into apart_rhs. */
static void eliminate_apart(Run *r, const V *push) {
    const Circuit *c = r->march->circuit;
    size_t skip = (size_t)c->static_slots, rest = (size_t)(c->slots + 1) - skip;
    if (r->grown) {
        divide(r);
        memcpy(r->apart + skip, r->block->base + skip, rest * sizeof(V));
        memset(r->apart_push, 0, (size_t)(c->size + 1) * sizeof(V));
        add_devices(r, 0, r->apart, r->apart_push);
    }
    for (int n = 0; n <= c->size; n++) r->apart_rhs[n] = push[n] + r->apart_push[n];
    if (r->grown) factor_listed(c, r->apart, r->apart_rhs, r->list, r->still);
    else
        for (int k = 0; k < r->still; k++) {
            const int32_t *pivot = c->program + c->starts[r->list[k]], *entry = pivot + 3;
            V right = r->apart_rhs[pivot[0]];
            for (int l = 0; l < pivot[2]; l++) r->apart_rhs[entry[3 * l + 2]] -= r->apart[entry[3 * l]] * right;
        }
    r->grown = 0;
}

/* The voltages of the nodes that devices touch into rhs. */
static void eliminate(Run *r) {
    const Circuit *c = r->march->circuit;
    const int32_t *list = r->list + r->still;
    int count = r->listed - r->still;
    for (int k = 0; k < count; k++) { /* a pivot's entries lie together */
        const int32_t *pivot = c->program + c->starts[list[k]];
        memcpy(r->a + pivot[1], r->apart + pivot[1], (size_t)(1 + 2 * pivot[2]) * sizeof(V));
    }
    memcpy(r->rhs, r->apart_rhs, (size_t)(c->size + 1) * sizeof(V));
    add_devices(r, 1, r->a, r->rhs);
    factor_listed(c, r->a, r->rhs, list, count);
    back_listed(c, r->a, r->rhs, list, count);
    back_listed(c, r->apart, r->rhs, r->list, r->still);
}

#endif
