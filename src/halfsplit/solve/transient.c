/* The compiled twin of transient.py: one step of time for many cases of one circuit.
 *
 * transient.py is the reference and says why. This file keeps every case's parameters, linear
 * elements and evaluated devices between steps, LANES cases to a block, and evaluates a device
 * again only when one of its terminals has moved by more than NEAR since, and that could alter a
 * current: between edges most do not. A block whose error is too large takes its step in halves, all of its lanes.
 *
 * transient_compiled.py fills the structures; they must agree with TRANSIENT_REVISION.
 */
#include "kernel_lu.h"
#include "kernel_stamp.h"

#define TRANSIENT_REVISION 1
#define JOINED(entry, name) entry##_##name
#define JOIN(entry, name) JOINED(entry, name)

enum { MOST_FIRST = 40, MOST_LOGIC = 30, MOST_FULL = 60, PATIENCE = 14 };
enum { HOPELESS = 8 }; /* a lane that cannot be solved in a step so many times shorter is lost */
static const double NEAR = 1e-4, CALM = 0.02, SHORT = 0.4;
static const double FAR = 0.02, TRIFLE = 1e-8; /* volts; amperes that nobody misses */

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
    uint8_t *stale;
    size_t devices;
    double h;
} Block;

typedef struct {
    const March *march;
    const Step *step;
    Block *block;
    Work work; /* live and settings, for the laws */
    double *middle;
    V *a, *rhs, *held, *per, *x, *slope, *value, *ohms, *v, *start, *first, *x1, *next;
    V error;
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
    size_t bytes = (2 * s + 2 * n + par + 2 * at + g + devices) * sizeof(V) + devices + sizeof(Block);
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
    b->stale = (uint8_t *)(b + 1), b->devices = devices;
    return b;
}

INLINE void take(V *to, const double *from, int64_t first, int64_t width) {
    for (int l = 0; l < LANES; l++) (*to)[l] = from[first + l < width ? first + l : width - 1];
}

INLINE void put(double *to, V from, int64_t first, int64_t width) {
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

/* One device at the voltages of now, if it moved or is stale; whether it did. */
INLINE int device(Run *r, const Group *group, int m, V *at, V *push, V *g, const V *par, uint8_t *stale,
                  V *steepest, int count, int kind) {
    const int32_t *nodes = group->nodes + m * count;
    V x[3 + MOST_INPUTS], old[3 + MOST_INPUTS], i[3 + MOST_INPUTS], *now = r->block->now;
    V moved = splat(0.0);
    for (int e = 0; e < count; e++) {
        x[e] = now[nodes[e]], old[e] = *stale > 1 ? x[e] : at[e];
        moved = larger(moved, size_of(x[e] - at[e]));
    }
    I matters = (moved > NEAR) & ((moved > FAR) | (moved * *steepest > TRIFLE));
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

/* What the devices give now, added up; whether any was evaluated again. */
static int stamp_devices(Run *r, int add) {
    const Circuit *c = r->march->circuit;
    Block *b = r->block;
    V *at = b->at, *push = b->push, *g = b->g, *par = b->par, *steepest = b->steepest;
    uint8_t *stale = b->stale;
    int moved = 0;
    for (int k = 0; k < c->groups; k++) {
        const Group *group = c->group + k;
        int count = group->terminals, members = group->members;
        if (group->kind > SOURCE) {
            if (!add) {
                switch (group->kind) {
#undef LAW
#define LAW(kind, count) \
                case kind: moved |= devices(r, group, at, push, g, par, stale, steepest, count, kind); break;
                EACH(LAW)
                }
            } else {
                int rows = carrying(group->kind);
                for (int m = 0; m < members; m++) {
                    const int32_t *nodes = group->nodes + m * count, *slots = group->slots + m * count * count;
                    const V *mg = g + m * count * count, *mp = push + m * count;
                    for (int e = 0; e < count; e++) {
                        if (!(rows >> e & 1)) continue;
                        r->rhs[nodes[e]] += mp[e];
                        for (int f = 0; f < count; f++) r->a[slots[e * count + f]] += mg[e * count + f];
                    }
                }
            }
            at += members * count, push += members * count, g += members * count * count;
        }
        par += members * (group->parameters + SPARE), stale += members, steepest += members;
    }
    return moved;
}

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
    size_t skip = (size_t)c->static_slots, rest = (size_t)(c->slots + 1) - skip;
    V last = splat(INFINITY);
    I quiet = r->lost;
    for (int step = 0; step <= most; step++) {
        r->bad = r->none;
        if (!stamp_devices(r, 0) && step) return step;
        r->bad &= ~quiet;
        if (step && !any(r->bad)) return step;
        memcpy(r->a + skip, b->base + skip, rest * sizeof(V));
        memcpy(r->rhs, push, (size_t)(c->size + 1) * sizeof(V));
        stamp_devices(r, 1);
        factor(c, r->a, r->rhs, c->static_pivots, c->pivots);
        back(c, r->a, r->rhs, c->static_pivots, c->pivots);
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
        if (share == 1.0) quiet |= (moved < set->noise) & (last < set->noise) & (moved > set->stalled * last);
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

/* The block over h seconds, in halves where that will not do. */
static void over(Run *r, double h, const double *guide) {
    const March *march = r->march;
    const Step *step = r->step;
    int n = march->circuit->size, stores = (int)march->stores;
    Block *b = r->block;
    double gh = step->gamma * h, again = (1.0 - step->gamma) / step->gamma;
    for (int k = 0; k < n; k++) b->now[k] = guide ? r->v[k] + (guide[n + k] - guide[k]) : r->v[k];
    prepare_step(r, gh);
    stage(r, r->x, r->x1);
    I bad = r->bad;
    for (int k = 0; r->middle && k < n; k++) r->middle[k] = b->now[k][0];
    for (int k = 0; guide && k < n; k++) b->now[k] += guide[2 * n + k] - guide[n + k];
    for (int k = 0; k < stores; k++) r->first[k] = r->x[k] + again * (r->x1[k] - r->x[k]);
    stage(r, r->first, r->next);
    bad |= r->bad;
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
    if (!any(bad) && (small || !any((worst > 1.0) & ~r->lost))) {
        for (int k = 0; k < stores; k++) r->x[k] = r->next[k], r->slope[k] = r->x1[k];
        for (int k = 0; k < n; k++) r->v[k] = b->now[k];
        return;
    }
    over(r, 0.5 * h, 0);
    over(r, 0.5 * h, 0);
}

static void *work_space(Run *r) {
    const March *m = r->march;
    size_t n = (size_t)m->circuit->size + 1, s = (size_t)m->circuit->slots + 1, k = (size_t)m->stores;
    void *memory = calloc((s + 4 * n + 8 * k + 1) * sizeof(V), 1);
    if (!memory) return memory;
    r->a = (V *)(((uintptr_t)memory + sizeof(V) - 1) / sizeof(V) * sizeof(V));
    r->rhs = r->a + s, r->held = r->rhs + n, r->v = r->held + n, r->start = r->v + n, r->per = r->start + n;
    r->x = r->per + k, r->slope = r->x + k, r->value = r->slope + k, r->ohms = r->value + k;
    r->first = r->ohms + k, r->x1 = r->first + k, r->next = r->x1 + k;
    return memory;
}

size_t JOIN(ENTRY, bytes)(const March *march) {
    size_t blocks = (size_t)((march->width + LANES - 1) / LANES);
    return blocks * block_bytes(march) + sizeof(V);
}

/* Blocks first..last-1 (of LANES cases) over one step; 0, or 1 when there is no memory. */
int JOIN(ENTRY, step)(const March *march, void *memory, const Step *step, int64_t first, int64_t last) {
    Run r = {.march = march, .step = step};
    void *space = work_space(&r);
    if (!space) return 1;
    r.work.live = splat(1.0), r.work.settings = march->settings;
    int64_t width = march->width;
    for (int64_t number = first; number < last; number++) {
        int64_t at = number * LANES;
        r.block = block_at(march, memory, number);
        r.middle = number ? 0 : step->middle;
        if (step->reload) reload(&r, at);
        for (int k = 0; k < march->stores; k++) {
            take(r.x + k, step->x + k * width, at, width), take(r.slope + k, step->slope + k * width, at, width);
            take(r.value + k, step->value + k * width, at, width), take(r.ohms + k, step->ohms + k * width, at, width);
        }
        for (int n = 0; n < march->circuit->size; n++) take(r.v + n, step->v + n * width, at, width);
        r.lost = r.none;
        over(&r, step->h, step->guide);
        for (int k = 0; k < march->stores; k++)
            put(step->x + k * width, r.x[k], at, width), put(step->slope + k * width, r.slope[k], at, width);
        for (int n = 0; n < march->circuit->size; n++) put(step->v + n * width, r.v[n], at, width);
        if (any(r.lost)) memset(r.block->stale, 2, r.block->devices);
        put(step->error, r.error, at, width);
        for (int l = 0; l < LANES && at + l < width; l++) step->lost[at + l] = r.lost[l] != 0;
    }
    free(space);
    return 0;
}

int JOIN(ENTRY, lanes)(void) { return LANES; }

#ifdef DISPATCH /* in one of the builds: which of them this machine can run */

#define DECLARE(entry) \
    size_t entry##_bytes(const March *); \
    int entry##_lanes(void); \
    int entry##_step(const March *, void *, const Step *, int64_t, int64_t);
DECLARE(solve_plain)
#ifdef WITH_X86
DECLARE(solve_avx2)
DECLARE(solve_avx512)
static int level(void) {
    __builtin_cpu_init();
    if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq") &&
        __builtin_cpu_supports("avx512vl"))
        return 2;
    return __builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma");
}
#define CHOOSE(what) (level() == 2 ? solve_avx512_##what : level() ? solve_avx2_##what : solve_plain_##what)
#else
#define CHOOSE(what) solve_plain_##what
#endif

int halfsplit_transient_revision(void) { return TRANSIENT_REVISION; }
int halfsplit_transient_lanes(void) { return CHOOSE(lanes)(); }
size_t halfsplit_transient_bytes(const March *march) { return CHOOSE(bytes)(march); }
int halfsplit_transient_step(const March *march, void *memory, const Step *step, int64_t first, int64_t last) {
    return CHOOSE(step)(march, memory, step, first, last);
}
#endif
