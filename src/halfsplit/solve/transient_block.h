/* One block of LANES cases: its arrays, its parameters, and its devices where they moved. */
#ifndef HALFSPLIT_TRANSIENT_BLOCK_H
#define HALFSPLIT_TRANSIENT_BLOCK_H

#include "kernel_lu.h"
#include "kernel_stamp.h"

enum { MOST_FIRST = 40, MOST_LOGIC = 30, MOST_FULL = 60, PATIENCE = 14 };
typedef float F __attribute__((vector_size(4 * LANES), aligned(4)));

enum { HOPELESS = 8 }; /* a lane that cannot be solved in a step so many times shorter is lost */
static const double NEAR = 1e-4, CALM = 0.02, SHORT = 0.4, JUMP = 0.3, SAME = 0.1;
/* As transient.py: volts, share of a move, tolerances. */
static const double ALONG = 0.5, SHARE = 0.25, LENIENT = 2.0;
/* Volts; volts times amperes that a tangent may be off by where a slope doubles in a tenth of a
 * volt; amperes of a junction that is off, and how many times its kT/q below its knee it is. */
static const double FAR = 0.01, TRIFLE = 1e-6, NOTHING = 3e-8, OFF = 14.0;

typedef struct {
    const Circuit *circuit;
    const Settings *settings;
    int64_t width, stores;
    const int32_t *store_nodes; /* [K, 2] */
    const int32_t *store_slots; /* [K, 4] */
    const int32_t *coil;        /* [K] */
} March;

typedef struct {
    const double *const *params; /* of each group [P, M, B], where reload is set */
    const int64_t *strides;      /* [groups, 3] */
    const double *value, *ohms;  /* [K, B] */
    double *x, *slope, *v;       /* [K, B], [K, B], [N, B], in and out */
    const double *guide;         /* [3, N] volts before, at the first and at the second stage, or null */
    float *memory;               /* [blocks, slots, 3, dynamic nodes, LANES] what was there then, or null */
    int64_t slots, slot, filled; /* where this step looks and writes; whether there is anything */
    const double *tolerance;     /* [K] */
    double h, shortest, gamma, third;
    int64_t reload;
    uint8_t *lost;  /* [B] out: could not be solved */
    double *error;  /* [B] out: of the whole step, in tolerances */
    double *middle; /* [N] out: volts of the first case at its first stage, or null */
} Step;

/* One block of lanes; its arrays lie behind one another in one piece of memory. */
typedef struct {
    V *linear, *base, *par, *at, *g, *push, *source, *now, *steepest; /* of each device, S */
    uint8_t *stale, *moves; /* of each device: to be evaluated; was so in this step */
    size_t devices;
    double h;
} Block;

typedef struct {
    const March *march;
    const Step *step;
    Block *block;
    Work work; /* live and settings, for the laws */
    double *middle;
    V *a, *rhs, *held, *per, *x, *slope, *value, *ohms, *v, *start, *first_v, *first, *x1, *next;
    V error, bent; /* bent: how far limits hold devices from the voltages of now */
    F *memory;     /* [3, dynamic nodes] of this block at the step's slot, or null */
    int sure;      /* all lanes begin where they were the last time: no limits */
    V *apart, *apart_push, *apart_rhs; /* the part of the matrix in which nothing moves */
    int32_t *place, *parent, *list;    /* of nodes, of pivots; pivots that stay, then those that move */
    uint8_t *moving;
    int still, listed, grown;          /* how many of each; whether more devices move than before */
    I bad, lost, none;
} Run;

static void count(const Circuit *c, size_t *par, size_t *at, size_t *g, size_t *devices) {
    *par = *at = *g = *devices = 0;
    for (int k = 0; k < c->groups; k++) {
        const Group *group = c->group + k;
        size_t m = (size_t)group->members, t = (size_t)group->terminals;
        *par += m * (group->parameters + SPARE), *devices += m;
        if (group->kind > SOURCE) *at += m * t, *g += m * t * t;
    }
}

static size_t block_bytes(const March *march) {
    const Circuit *c = march->circuit;
    size_t par, at, g, devices;
    count(c, &par, &at, &g, &devices);
    size_t n = (size_t)c->size + 1, s = (size_t)c->slots + 1;
    size_t bytes = (2 * s + 2 * n + par + 2 * at + g + devices) * sizeof(V) + 2 * devices + sizeof(Block);
    return (bytes + 2 * sizeof(V)) / sizeof(V) * sizeof(V);
}

static Block *block_at(const March *march, void *memory, int64_t number) {
    size_t aligned = ((uintptr_t)memory + sizeof(V) - 1) / sizeof(V) * sizeof(V);
    char *start = (char *)aligned + (size_t)number * block_bytes(march);
    const Circuit *c = march->circuit;
    size_t par, at, g, devices, n = (size_t)c->size + 1, s = (size_t)c->slots + 1;
    count(c, &par, &at, &g, &devices);
    V *next = (V *)start;
    Block *b = (Block *)(next + 2 * s + 2 * n + par + 2 * at + g + devices);
    b->linear = next, b->base = b->linear + s, b->source = b->base + s, b->now = b->source + n;
    b->par = b->now + n, b->at = b->par + par, b->push = b->at + at, b->g = b->push + at;
    b->steepest = b->g + g;
    b->stale = (uint8_t *)(b + 1), b->moves = b->stale + devices, b->devices = devices;
    return b;
}

/* LANES cases from the one numbered first on; the last one again where there are no more. */
INLINE void take(V *to, const double *from, int64_t first, int64_t width) {
    if (first + LANES <= width) memcpy(to, from + first, sizeof(V));
    else
        for (int l = 0; l < LANES; l++) (*to)[l] = from[first + l < width ? first + l : width - 1];
}

INLINE void put(double *to, V from, int64_t first, int64_t width) {
    if (first + LANES <= width) memcpy(to + first, &from, sizeof(V));
    else
        for (int l = 0; l < LANES && first + l < width; l++) to[first + l] = from[l];
}

/* Parameters into the block; devices that a change touches are stale. */
static void reload(Run *r, int64_t first) {
    const Circuit *c = r->march->circuit;
    const Step *step = r->step;
    Block *b = r->block;
    V *p = b->par;
    int device = 0;
    memset(b->linear, 0, (size_t)(c->slots + 1) * sizeof(V));
    memset(b->source, 0, (size_t)(c->size + 1) * sizeof(V));
    for (int n = 0; n < c->size; n++) b->linear[c->diagonal[n]] = splat(r->march->settings->leak);
    for (int k = 0; k < c->groups; k++) {
        const Group *group = c->group + k;
        const int64_t *stride = step->strides + 3 * k;
        for (int m = 0; m < group->members; m++, device++, p += group->parameters + SPARE) {
            int changed = 0;
            for (int q = 0; q < group->parameters; q++) {
                const double *from = step->params[k] + q * stride[0] + m * stride[1];
                V value;
                if (stride[2] == 1) take(&value, from, first, r->march->width);
                else
                    for (int l = 0; l < LANES; l++) {
                        int64_t column = first + l < r->march->width ? first + l : r->march->width - 1;
                        value[l] = from[column * stride[2]];
                    }
                changed |= any(value != p[q]);
                p[q] = value;
            }
            if (group->kind <= SOURCE) {
                const int32_t *nodes = group->nodes + 2 * m, *slots = group->slots + 4 * m;
                b->linear[slots[0]] += p[0], b->linear[slots[1]] -= p[0];
                b->linear[slots[2]] -= p[0], b->linear[slots[3]] += p[0];
                if (group->kind == CONDUCTANCE) continue;
                b->source[nodes[0]] += p[0] * p[1], b->source[nodes[1]] -= p[0] * p[1];
            } else if (changed) {
                prepare(group, r->march->settings, p);
                b->stale[device] = 2;
            }
        }
    }
    b->h = 0.0;
}

/* Junctions that are off at x and were when they were evaluated: only their leaks count. */
INLINE I asleep(int kind, const V *x, const V *par, double s, V moved, V steepest) {
    if (kind == DIODE) {
        V vd = x[0] - x[1], off = par[7] - OFF * par[5];
        return (moved * (steepest - par[4]) < NOTHING) & (vd < off) & (vd > -0.8 * par[2]);
    }
    if (kind == BIPOLAR) {
        V off = par[9] - OFF * par[8], base = s * x[1], leak = par[5] + par[6] + par[7];
        I below = (base - s * x[0] < off) & (base - s * x[2] < off);
        return (moved * (steepest - leak) < NOTHING) & below & (s * (x[0] - x[2]) < 0.8 * par[4]);
    }
    return (I){0};
}

/* One device at the voltages of now, if it moved or is stale; whether it did. */
INLINE int device(Run *r, const Group *group, int m, V *at, V *push, V *g, const V *par, uint8_t *stale,
                  V *steepest, int count, int kind) {
    const int32_t *nodes = group->nodes + m * count;
    V x[3 + MOST_INPUTS], old[3 + MOST_INPUTS], i[3 + MOST_INPUTS], *now = r->block->now;
    V moved = splat(0.0);
    for (int e = 0; e < count; e++) {
        x[e] = now[nodes[e]], old[e] = *stale > 1 || r->sure ? x[e] : at[e];
        moved = larger(moved, size_of(x[e] - at[e]));
    }
    I far = moved > FAR;
    if (any(far)) far &= ~asleep(kind, x, par, group->sign, moved, *steepest);
    I matters = (moved > NEAR) & (far | (moved * moved * *steepest > TRIFLE));
    if (!*stale && !any(matters)) return 0;
    r->bad |= matters;
    limit(kind, count, x, old, par, group->sign, r->march->settings);
    I stuck = matters; /* at its corner, limiting may go round in rounding: from a little beyond, then */
    for (int e = 0; e < count; e++) stuck &= size_of(x[e] - at[e]) < 1e-9;
    if (!*stale && any(stuck)) {
        V again[3 + MOST_INPUTS];
        for (int e = 0; e < count; e++) again[e] = now[nodes[e]], old[e] += 1e-6 * (again[e] - old[e]);
        limit(kind, count, again, old, par, group->sign, r->march->settings);
        for (int e = 0; e < count; e++) x[e] = pick(stuck, again[e], x[e]);
    }
    for (int e = 0; e < count; e++) r->bent = larger(r->bent, size_of(x[e] - now[nodes[e]]));
    evaluate(kind, group, x, par, group->sign, &r->work, i, g);
    int rows = carrying(kind);
    V most = splat(0.0);
    for (int e = 0; e < count; e++) {
        at[e] = x[e];
        if (!(rows >> e & 1)) continue;
        push[e] = -i[e];
        for (int f = 0; f < count; f++) {
            push[e] += g[e * count + f] * x[f];
            most = larger(most, size_of(g[e * count + f]));
        }
    }
    if (!r->block->moves[stale - r->block->stale]) r->block->moves[stale - r->block->stale] = 1, r->grown = 1;
    *stale = 0, *steepest = most;
    return 1;
}

INLINE int devices(Run *r, const Group *group, V *at, V *push, V *g, const V *par, uint8_t *stale,
                   V *steepest, int count, int kind) {
    int moved = 0;
    for (int m = 0; m < group->members; m++) {
        moved |= device(r, group, m, at, push, g, par, stale + m, steepest + m, count, kind);
        at += count, push += count, g += count * count, par += group->parameters + SPARE;
    }
    return moved;
}

/* The devices at the voltages of now; whether any was evaluated again. */
static int evaluate_devices(Run *r) {
    const Circuit *c = r->march->circuit;
    Block *b = r->block;
    V *at = b->at, *push = b->push, *g = b->g, *par = b->par, *steepest = b->steepest;
    uint8_t *stale = b->stale;
    int moved = 0;
    for (int k = 0; k < c->groups; k++) {
        const Group *group = c->group + k;
        int count = group->terminals, members = group->members;
        switch (group->kind) {
#undef LAW
#define LAW(kind, count) \
        case kind: moved |= devices(r, group, at, push, g, par, stale, steepest, count, kind); break;
            EACH(LAW)
        }
        if (group->kind > SOURCE) at += members * count, push += members * count, g += members * count * count;
        par += members * (group->parameters + SPARE), stale += members, steepest += members;
    }
    return moved;
}

#endif
