/* One block over one step: the stores, Newton's iteration, two stages, and halves where they will not do. */
#ifndef HALFSPLIT_TRANSIENT_STAGE_H
#define HALFSPLIT_TRANSIENT_STAGE_H

#include "transient_parts.h"

static void forward_static(const Circuit *c, const V *a, V *rhs) {
    for (int n = 0; n < c->static_pivots; n++) {
        const int32_t *pivot = c->program + c->starts[n], *entry = pivot + 3;
        for (int k = 0; k < pivot[2]; k++) rhs[entry[3 * k + 2]] -= a[entry[3 * k]] * rhs[pivot[0]];
    }
}

/* The stores' conductances into the linear part, and its static nodes out of it. */
static void prepare_step(Run *r, double gh) {
    const March *march = r->march;
    const Circuit *c = march->circuit;
    Block *b = r->block;
    for (int k = 0; k < march->stores; k++)
        r->per[k] = march->coil[k] ? r->value[k] / gh : gh / r->value[k];
    if (b->h == gh) return;
    b->h = gh;
    memcpy(b->base, b->linear, (size_t)(c->slots + 1) * sizeof(V));
    for (int k = 0; k < march->stores; k++) {
        const int32_t *slots = march->store_slots + 4 * k;
        V g = 1.0 / (r->ohms[k] + r->per[k]);
        b->base[slots[0]] += g, b->base[slots[1]] -= g, b->base[slots[2]] -= g, b->base[slots[3]] += g;
    }
    memset(r->rhs, 0, (size_t)(c->size + 1) * sizeof(V));
    factor(c, b->base, r->rhs, 0, c->static_pivots);
}

/* Newton's steps on now until no device moves, or none moves by more than calm; how many were done,
 * or more than most. Lanes that still move are bad, but for lost ones and rounding (newton.py). */
static int iterate(Run *r, const V *push, int most, double calm) {
    const Circuit *c = r->march->circuit;
    Block *b = r->block;
    const Settings *set = r->march->settings;
    V last = splat(INFINITY);
    I quiet = r->lost;
    int begun = 0;
    for (int step = 0; step <= most; step++) {
        r->bad = r->none, r->bent = splat(0.0);
        int evaluated = evaluate_devices(r);
        r->sure = 0;
        if (!evaluated && step) return step;
        r->bad &= ~quiet;
        if (step && !any(r->bad)) return step;
        if (r->grown || !begun) eliminate_apart(r, push);
        begun = 1;
        eliminate(r);
        double share = step >= PATIENCE && step % 3 && calm == 0.0 ? SHORT : 1.0;
        V moved = splat(0.0);
        for (int n = c->static_pivots; n < c->pivots; n++) {
            int node = c->program[c->starts[n]];
            V change = r->rhs[node] - b->now[node];
            moved = larger(moved, size_of(change));
            b->now[node] += share * change;
        }
        I broken = ~(moved < INFINITY);
        if (any(broken & ~r->lost)) { /* begins again from nought */
            for (int n = 0; n <= c->size; n++) b->now[n] = pick(broken, splat(0.0), b->now[n]);
            memset(b->stale, 2, b->devices);
        }
        quiet = r->lost;
        if (share == 1.0)
            quiet |= (r->bent < NEAR) & (moved < set->noise) & (last < set->noise) & (moved > set->stalled * last);
        last = moved;
        if (calm > 0.0 && !any(~(moved < calm) & ~r->lost)) return step;
    }
    return most + 1;
}

/* As newton.py: as it is; else gates without their slopes from the start, then with them. */
static void settle(Run *r, const V *push) {
    const Circuit *c = r->march->circuit;
    Block *b = r->block;
    memcpy(r->start, b->now, (size_t)(c->size + 1) * sizeof(V));
    if (iterate(r, push, MOST_FIRST, 0.0) <= MOST_FIRST) return;
    memcpy(b->now, r->start, (size_t)(c->size + 1) * sizeof(V));
    memset(b->stale, 2, b->devices);
    r->work.live = splat(0.0);
    iterate(r, push, MOST_LOGIC, CALM);
    r->work.live = splat(1.0);
    memset(b->stale, 1, b->devices);
    iterate(r, push, MOST_FULL, 0.0);
}

/* One stage from x [K] into now, next [K]; lanes that did not come to rest are bad. */
static void stage(Run *r, const V *x, V *next) {
    const March *march = r->march;
    const Circuit *c = march->circuit;
    Block *b = r->block;
    V *push = r->held;
    memcpy(push, b->source, (size_t)(c->size + 1) * sizeof(V));
    for (int k = 0; k < march->stores; k++) {
        const int32_t *nodes = march->store_nodes + 2 * k;
        V g = 1.0 / (r->ohms[k] + r->per[k]), volts = march->coil[k] ? -r->per[k] * x[k] : x[k];
        push[nodes[0]] += g * volts, push[nodes[1]] -= g * volts;
    }
    forward_static(c, b->base, push);
    settle(r, push);
    memcpy(r->rhs, push, (size_t)(c->size + 1) * sizeof(V));
    for (int n = c->static_pivots; n < c->pivots; n++) {
        int node = c->program[c->starts[n]];
        r->rhs[node] = b->now[node];
    }
    back(c, b->base, r->rhs, 0, c->static_pivots);
    for (int n = 0; n < c->static_pivots; n++) {
        int node = c->program[c->starts[n]];
        b->now[node] = r->rhs[node];
    }
    for (int k = 0; k < march->stores; k++) {
        const int32_t *nodes = march->store_nodes + 2 * k;
        V g = 1.0 / (r->ohms[k] + r->per[k]), volts = march->coil[k] ? -r->per[k] * x[k] : x[k];
        V amps = g * (b->now[nodes[0]] - b->now[nodes[1]] - volts);
        next[k] = march->coil[k] ? amps : x[k] + amps * r->per[k];
    }
    for (int n = 0; n < c->size; n++) r->bad |= ~(size_of(b->now[n]) < 1e6);
}

/* Nodes move as the guide's do, in lanes that are near it. */
static void go_along(V *now, const double *guide, int n) {
    for (int k = 0; k < n; k++) {
        double move = guide[n + k] - guide[k];
        I near = size_of(now[k] - guide[k]) <= fmax(ALONG, SHARE * fabs(move));
        now[k] = pick(near, now[k] + move, now[k]);
    }
}

/* Where the guide jumps, gates may too: no limits from what they were. */
static void trust(const Circuit *c, Block *b, const double *guide) {
    double most = 0.0;
    for (int n = 0; n < c->size; n++) most = fmax(most, fabs(guide[c->size + n] - guide[n]));
    if (most < JUMP) return;
    uint8_t *stale = b->stale;
    for (int k = 0; k < c->groups; stale += c->group[k++].members) {
        int kind = c->group[k].kind;
        if (kind == TTL_INPUT || kind == LOGIC_OUTPUT || kind == COMPARATOR)
            memset(stale, 2, (size_t)c->group[k].members);
    }
}

/* The block over h seconds, in halves where that will not do. */
static void over(Run *r, double h, const double *guide) {
    const March *march = r->march;
    const Step *step = r->step;
    int n = march->circuit->size, stores = (int)march->stores;
    Block *b = r->block;
    double gh = step->gamma * h, again = (1.0 - step->gamma) / step->gamma;
    memcpy(b->now, r->v, (size_t)n * sizeof(V));
    if (guide) go_along(b->now, guide, n);
    F *kept = guide ? r->memory : 0;
    I same = kept ? remembered(r) : r->none;
    int sure = !any(~same);
    if (guide && !sure) trust(march->circuit, b, guide);
    if (kept) follow(r, 1, same);
    r->sure = sure;
    prepare_step(r, gh);
    memset(b->moves, 0, b->devices);
    r->grown = 1;
    stage(r, r->x, r->x1);
    I bad = r->bad;
    for (int k = 0; r->middle && k < n; k++) r->middle[k] = b->now[k][0];
    memcpy(r->first_v, b->now, (size_t)n * sizeof(V));
    if (guide) go_along(b->now, guide + n, n);
    if (guide && !sure) trust(march->circuit, b, guide + n);
    if (kept) follow(r, 2, same);
    r->sure = sure;
    for (int k = 0; k < stores; k++) r->first[k] = r->x[k] + again * (r->x1[k] - r->x[k]);
    stage(r, r->first, r->next);
    bad |= r->bad;
    if (kept) keep(r);
    V worst = splat(0.0);
    for (int k = 0; k < stores; k++) {
        V slope1 = (r->x1[k] - r->x[k]) / gh, slope2 = (r->next[k] - r->first[k]) / gh;
        V late = (slope2 - slope1) / (h - gh), early = (slope1 - r->slope[k]) / gh;
        V bend = late - pick(early == early, early, 0.5 * late);
        V error = size_of(bend) * (2.0 * step->third * h * h / step->tolerance[k]);
        worst = larger(worst, error); /* not-a-number does not count */
        r->x1[k] = slope2;
    }
    if (h == step->h) r->error = worst;
    int small = h < 2.0 * step->shortest;
    if (small || h * HOPELESS <= step->h) r->lost |= bad;
    bad &= ~r->lost;
    if (!any(bad) && (small || !any((worst > (guide ? LENIENT : 1.0)) & ~r->lost))) {
        for (int k = 0; k < stores; k++) r->x[k] = r->next[k], r->slope[k] = r->x1[k];
        for (int k = 0; k < n; k++) r->v[k] = b->now[k];
        return;
    }
    if (kept) kept[0] = (F){0} + (float)NAN; /* halves have no place to be kept */
    over(r, 0.5 * h, 0);
    over(r, 0.5 * h, 0);
}

#endif
