/* The compiled twin of newton.py: DC operating points of many cases of one circuit.
 *
 * newton.py is the reference and says why; this file does the same steps for W cases (lanes) at
 * once. Every lane walks through the tries on its own: one that comes to rest is written out and
 * takes the next case of the queue. No operation looks across lanes, so an answer does not depend
 * on the neighbours, on the number of threads or on the order of the cases.
 *
 * kernel.py fills the structures and describes them; they must agree with REVISION. Slots of
 * entries that do not exist and the node of ground are one spare place behind the last.
 *
 * Compiled once for each instruction set: LANES cases in a vector, ENTRY the name of the result.
 */
#include "kernel.h"
#include "kernel_laws.h"

enum { FIRST, LOGIC, FULL, LOGIC_COLD, FULL_COLD, SOFT, DONE, FAILED };

typedef struct {
    const Circuit *circuit;
    const Settings *settings;
    V *a, *base, *rhs, *push, *now, *at, *par; /* base and push: what the linear elements give */
    V live, bent;                              /* live: 0 in the logic phase */
    I fresh, active;                           /* lanes that begin a phase; that are not at rest */
    int loaded;
} Work;

/* terminals that carry current, one bit each */
INLINE int carrying(int kind) {
    return kind == PHOTOTRANSISTOR ? 12 : kind == COMPARATOR ? 31
         : kind == CONDUCTANCE || kind == SOURCE || kind == DIODE ? 3 : 7;
}

INLINE void limit(int kind, int count, V *x, const V *old, const V *par, double s, const Settings *set) {
    switch (kind) {
    case DIODE: diode_limit(x, old, par); break;
    case BIPOLAR: bipolar_limit(x, old, par, s); break;
    case TTL_INPUT: limit_step(x, old, count, 0.7); break;
    case LOGIC_OUTPUT: limit_step(x, old, count, 0.6); break;
    case MOSFET: limit_step(x, old, count, 2.0); break;
    case REGULATOR: regulator_limit(x, old, par, s); break;
    case PHOTOTRANSISTOR: phototransistor_limit(x, old, par, set); break;
    case COMPARATOR: limit_step(x, old, count, 1.0); break;
    }
}

INLINE void evaluate(int kind, const Group *group, const V *x, const V *par, double s, const Work *w,
                     V *i, V *g) {
    switch (kind) {
    case DIODE: diode(x, par, i, g); break;
    case BIPOLAR: bipolar(x, par, s, i, g); break;
    case TTL_INPUT: ttl_input(x, par, i, g); break;
    case LOGIC_OUTPUT: logic_output(group, x, par, w->live, i, g); break;
    case MOSFET: mosfet(x, par, s, i, g); break;
    case REGULATOR: regulator(x, par, s, i, g); break;
    case PHOTOTRANSISTOR: phototransistor(x, par, w->settings, i, g); break;
    case COMPARATOR: comparator(x, par, w->live, i, g); break;
    }
}

/* Evaluate the elements of a group (limited or just where they are) and add them up. */
INLINE void stamp(Work *w, const Group *group, V *at, const V *par, int count, int limited, int kind) {
    int stride = group->parameters + SPARE, rows = carrying(kind);
    double s = group->sign;
    V x[3 + MOST_INPUTS], old[3 + MOST_INPUTS], i[3 + MOST_INPUTS], g[ENTRIES];
    for (int m = 0; m < group->members; m++, at += count, par += stride) {
        const int32_t *nodes = group->nodes + m * count, *slots = group->slots + m * count * count;
        for (int e = 0; e < count; e++) x[e] = w->now[nodes[e]];
        if (limited) {
            for (int e = 0; e < count; e++) old[e] = pick(w->fresh, x[e], at[e]);
            limit(kind, count, x, old, par, s, w->settings);
            for (int e = 0; e < count; e++) {
                w->bent = larger(w->bent, size_of(x[e] - w->now[nodes[e]]));
                at[e] = x[e];
            }
        }
        evaluate(kind, group, x, par, s, w, i, g);
        for (int e = 0; e < count; e++) {
            if (!(rows >> e & 1)) continue;
            V push = -i[e];
            for (int f = 0; f < count; f++) {
                w->a[slots[e * count + f]] += g[e * count + f];
                push += g[e * count + f] * x[f];
            }
            w->rhs[nodes[e]] += push;
        }
    }
}

static void stamp_all(Work *w, int limited) {
    V *at = w->at, *par = w->par;
    w->bent = splat(0.0);
    for (int k = 0; k < w->circuit->groups; k++) {
        const Group *group = w->circuit->group + k;
        int count = group->terminals, members = group->members;
        switch (group->kind) {
#define LAW(kind, count) \
        case kind: stamp(w, group, at, par, count, limited, kind); break;
        LAW(DIODE, 2)
        LAW(BIPOLAR, 3)
        LAW(TTL_INPUT, 3)
        LAW(LOGIC_OUTPUT, count)
        LAW(MOSFET, 3)
        LAW(REGULATOR, 3)
        LAW(PHOTOTRANSISTOR, 4)
        LAW(COMPARATOR, 5)
        }
        at += members * count;
        par += members * (group->parameters + SPARE);
    }
}

/* Elimination, as in elimination.py, pivot by pivot; right-hand side along with it. */
static void factor(const Circuit *c, V *a, V *rhs, int first, int last) {
    for (int n = first; n < last; n++) {
        const int32_t *pivot = c->program + c->starts[n], *entry = pivot + 3;
        int count = pivot[2];
        const int32_t *target = entry + 3 * count;
        V inverse = 1.0 / a[pivot[1]], right = rhs[pivot[0]];
        a[pivot[1]] = inverse;
        for (int r = 0; r < count; r++) {
            V multiplier = a[entry[3 * r]] * inverse;
            a[entry[3 * r]] = multiplier;
            rhs[entry[3 * r + 2]] -= multiplier * right;
            for (int s = 0; s < count; s++) a[*target++] -= multiplier * a[entry[3 * s + 1]];
        }
    }
}

static void forward(const Circuit *c, const V *a, V *rhs) {
    for (int n = 0; n < c->pivots; n++) {
        const int32_t *pivot = c->program + c->starts[n], *entry = pivot + 3;
        for (int r = 0; r < pivot[2]; r++) rhs[entry[3 * r + 2]] -= a[entry[3 * r]] * rhs[pivot[0]];
    }
}

static void back(const Circuit *c, const V *a, V *rhs, int first, int last) {
    for (int n = last - 1; n >= first; n--) {
        const int32_t *pivot = c->program + c->starts[n], *entry = pivot + 3;
        V value = rhs[pivot[0]];
        for (int r = 0; r < pivot[2]; r++) value -= a[entry[3 * r + 1]] * rhs[entry[3 * r + 2]];
        rhs[pivot[0]] = value * a[pivot[1]];
    }
}

/* Diagonal of the inverse by Takahashi's recurrence, into z [slots]. */
static void invert(const Circuit *c, const V *a, V *z) {
    for (int n = c->pivots - 1; n >= 0; n--) {
        const int32_t *pivot = c->program + c->starts[n], *entry = pivot + 3;
        int count = pivot[2];
        const int32_t *block = entry + 3 * count;
        V inverse = a[pivot[1]], own = inverse;
        for (int r = 0; r < count; r++) {
            V column = splat(0.0), across = splat(0.0);
            for (int s = 0; s < count; s++) {
                column -= z[block[r * count + s]] * a[entry[3 * s]];
                across -= z[block[s * count + r]] * a[entry[3 * s + 1]];
            }
            z[entry[3 * r]] = column, z[entry[3 * r + 1]] = across * inverse;
            own -= a[entry[3 * r + 1]] * inverse * column;
        }
        z[pivot[1]] = own;
    }
}

/* Read the parameters (of one sample) of cases column[] into the lanes of mask; whether a linear element changed. */
static int read(Work *w, const Batch *b, int sample, I mask, const int64_t *column) {
    const Circuit *c = w->circuit;
    V *p = w->par;
    int lane[LANES], lanes = 0, linear_changed = 0;
    int64_t offset[LANES];
    for (int l = 0; l < LANES; l++)
        if (mask[l]) lane[lanes++] = l;
    for (int k = 0; k < c->groups; k++) {
        const Group *group = c->group + k;
        const double *all = b->params[k + sample * c->groups];
        const int64_t *stride = b->strides + 3 * (k + sample * c->groups);
        int whole = lanes == LANES && stride[2] == 1;
        for (int j = 0; j < lanes; j++) {
            offset[j] = column[lane[j]] * stride[2];
            whole = whole && offset[j] == offset[0] + j;
        }
        for (int m = 0; m < group->members; m++, p += group->parameters + SPARE) {
            int changed = 0;
            for (int q = 0; q < group->parameters; q++) {
                const double *from = all + q * stride[0] + m * stride[1];
                double *to = (double *)(p + q);
                if (whole) {
                    V values;
                    memcpy(&values, from + offset[0], sizeof values);
                    changed |= any(values != p[q]);
                    p[q] = values;
                    continue;
                }
                for (int j = 0; j < lanes; j++) {
                    double value = from[offset[j]];
                    changed |= value != to[lane[j]];
                    to[lane[j]] = value;
                }
            }
            if (changed && group->kind > SOURCE) prepare(group, w->settings, p);
            linear_changed |= changed && group->kind <= SOURCE;
        }
    }
    return linear_changed;
}

/* Put cases column[] into the lanes of mask: parameters, linear elements, static elimination. */
static void load(Work *w, const Batch *b, I mask, const int64_t *column) {
    const Circuit *c = w->circuit;
    if (!read(w, b, 0, mask, column) && !b->meter && w->loaded) return;
    V *p = w->par, *a = w->rhs + c->size + 1, *rhs = a + c->slots + 1; /* scratch behind rhs */
    memset(a, 0, (size_t)(c->slots + 1 + c->size + 1) * sizeof(V));
    for (int n = 0; n < c->size; n++) a[c->diagonal[n]] = splat(w->settings->leak);
    for (int k = 0; k < c->groups; k++) {
        const Group *group = c->group + k;
        int places = group->parameters + SPARE;
        for (int m = 0; group->kind <= SOURCE && m < group->members; m++) {
            const int32_t *nodes = group->nodes + 2 * m, *slots = group->slots + 4 * m;
            V g = p[m * places];
            a[slots[0]] += g, a[slots[1]] -= g, a[slots[2]] -= g, a[slots[3]] += g;
            if (group->kind == CONDUCTANCE) continue;
            g *= p[m * places + 1];
            rhs[nodes[0]] += g, rhs[nodes[1]] -= g;
        }
        p += group->members * places;
    }
    for (int l = 0; b->meter && l < LANES; l++) {
        if (!mask[l]) continue;
        const int32_t *meter = b->meter + column[l];
        double g = b->meter_g[column[l]], amps = b->meter_amps[column[l]];
        for (int k = 0; k < 6; k++) {
            int32_t at = meter[k * b->width];
            if (k < 2) rhs[at][l] += k ? -amps : amps;
            else a[at][l] += k < 4 ? g : -g;
        }
    }
    factor(c, a, rhs, 0, c->static_pivots);
    for (int n = 0; n <= c->slots; n++) w->base[n] = pick(mask, a[n], w->base[n]);
    for (int n = 0; n < c->static_slots; n++) w->a[n] = w->base[n];
    for (int n = 0; n <= c->size; n++) w->push[n] = pick(mask, rhs[n], w->push[n]);
    w->loaded = 1;
}

static void place(Work *w, const Batch *b, int lane, int64_t column, int guessed) {
    for (int n = 0; n < w->circuit->size; n++)
        w->now[n][lane] = guessed ? b->guess[n * b->guess_row + column * b->guess_column] : 0.0;
}

/* Write out solved cases: static nodes found from the others. */
static void store(Work *w, const Batch *b, const int *phase, const int64_t *column) {
    const Circuit *c = w->circuit;
    memcpy(w->rhs, w->push, (size_t)c->size * sizeof(V));
    for (int n = c->static_pivots; n < c->pivots; n++) {
        int node = c->program[c->starts[n]];
        w->rhs[node] = w->now[node];
    }
    back(c, w->a, w->rhs, 0, c->static_pivots);
    for (int l = 0; l < LANES; l++) {
        if (column[l] < 0 || phase[l] < DONE) continue;
        b->resolved[column[l]] = phase[l] == DONE;
        for (int n = 0; n < c->size; n++)
            b->v[n * b->width + column[l]] = phase[l] == DONE ? w->rhs[n][l] : NAN;
    }
}

static int most(const Settings *s, int phase) {
    return phase == FIRST ? s->most_first : phase == SOFT ? s->most_soft
         : phase == LOGIC || phase == LOGIC_COLD ? s->most_logic : s->most_full;
}

static void newton(Work *w, const Batch *b, int64_t next, int64_t end) {
    const Circuit *c = w->circuit;
    const Settings *set = w->settings;
    int phase[LANES], step[LANES], broken[LANES] = {0}, rested;
    int64_t column[LANES];
    double last[LANES];
    V soft = splat(0.0), share = soft;
    for (int l = 0; l < LANES; l++) phase[l] = DONE, column[l] = -1, step[l] = 0, last[l] = INFINITY;
    for (;;) {
        int idle = 0;
        for (int l = 0; l < LANES; l++) idle += phase[l] >= DONE;
        if (idle == LANES || (idle >= (LANES + 3) / 4 && next < end)) {
            I mask = {0};
            store(w, b, phase, column);
            for (int l = 0; l < LANES; l++) {
                if (phase[l] < DONE) continue;
                column[l] = next < end ? next++ : -1;
                if (column[l] < 0) continue;
                phase[l] = b->guess ? FIRST : LOGIC_COLD, step[l] = 0, mask[l] = -1;
                place(w, b, l, column[l], b->guess != NULL);
                idle--;
            }
            if (idle == LANES) return;
            load(w, b, mask, column);
        }
        for (int l = 0; l < LANES; l++) {
            if (step[l] == 0) last[l] = INFINITY;
            w->active[l] = phase[l] < DONE ? -1 : 0;
            w->fresh[l] = step[l] && !broken[l] ? 0 : -1;
            broken[l] = 0;
            w->live[l] = phase[l] == LOGIC || phase[l] == LOGIC_COLD ? 0.0 : 1.0;
            soft[l] = phase[l] == SOFT && step[l] < set->soften
                    ? pow(10.0, -1.0 - 9.0 * step[l] / set->soften) : 0.0;
            share[l] = w->live[l] > 0.0 && step[l] >= set->patience && step[l] % 3
                     ? set->short_step : 1.0;
        }
        int skip = c->static_slots;
        memcpy(w->a + skip, w->base + skip, (size_t)(c->slots + 1 - skip) * sizeof(V));
        memcpy(w->rhs, w->push, (size_t)(c->size + 1) * sizeof(V));
        stamp_all(w, 1);
        for (int n = c->static_pivots; n < c->pivots; n++) {
            const int32_t *pivot = c->program + c->starts[n];
            w->a[pivot[1]] += soft, w->rhs[pivot[0]] += soft * w->now[pivot[0]];
        }
        factor(c, w->a, w->rhs, c->static_pivots, c->pivots);
        back(c, w->a, w->rhs, c->static_pivots, c->pivots);
        V moved = splat(0.0);
        I sound = moved == 0.0;
        for (int n = c->static_pivots; n < c->pivots; n++) {
            int node = c->program[c->starts[n]];
            V change = w->rhs[node] - w->now[node], much = size_of(change);
            sound &= much < INFINITY;
            moved = larger(much, moved);
            V there = pick(share == 1.0, w->rhs[node], w->now[node] + share * change);
            w->now[node] = pick(w->active, there, w->now[node]);
        }
        for (int l = 0; l < LANES; l++) {
            if (phase[l] >= DONE) continue;
            b->steps[column[l]]++, step[l]++;
            double tolerance = w->live[l] > 0.0 ? set->tolerance : set->logic_tolerance;
            if (!sound[l]) {
                place(w, b, l, column[l], 0);
                last[l] = INFINITY, rested = 0, broken[l] = 1;
            } else {
                int whole = step[l] - 1 <= set->patience || step[l] % 3 == 2;
                int noisy = moved[l] < set->noise && last[l] < set->noise && moved[l] > set->stalled * last[l];
                rested = moved[l] < tolerance || (noisy && whole);
                rested = rested && w->bent[l] < tolerance && !(phase[l] == SOFT && step[l] <= set->soften);
                last[l] = moved[l];
            }
            if (!rested && step[l] < most(set, phase[l])) continue;
            step[l] = 0;
            if (phase[l] == LOGIC || phase[l] == LOGIC_COLD) {
                phase[l]++;
            } else if (rested) {
                phase[l] = DONE;
            } else {
                phase[l] = phase[l] == SOFT ? FAILED : phase[l] + 1;
                if (phase[l] != FAILED) place(w, b, l, column[l], phase[l] == LOGIC);
            }
        }
    }
}

/* Current out of every node into the elements at the voltages of now, into sum [N + 1]. */
static void currents(const Work *w, V *sum) {
    const Circuit *c = w->circuit;
    const V *p = w->par;
    V x[3 + MOST_INPUTS], i[3 + MOST_INPUTS], g[ENTRIES];
    memset(sum, 0, (size_t)(c->size + 1) * sizeof(V));
    for (int k = 0; k < c->groups; k++) {
        const Group *group = c->group + k;
        int count = group->terminals, rows = carrying(group->kind);
        for (int m = 0; m < group->members; m++, p += group->parameters + SPARE) {
            const int32_t *nodes = group->nodes + m * count;
            for (int e = 0; e < count; e++) x[e] = w->now[nodes[e]];
            if (group->kind <= SOURCE) {
                i[0] = p[0] * (group->kind == SOURCE ? x[0] - x[1] - p[1] : x[0] - x[1]);
                i[1] = -i[0];
            } else {
                evaluate(group->kind, group, x, p, group->sign, w, i, g);
            }
            for (int e = 0; e < count; e++)
                if (rows >> e & 1) sum[nodes[e]] += i[e];
        }
    }
}

/* The circuit made linear at v: source resistance of every node, and what varied parameters move. */
static void linear(Work *w, const Batch *b, int64_t next, int64_t end) {
    const Circuit *c = w->circuit;
    V *z = w->rhs + c->size + 1, *before = w->push; /* push is made anew by each load */
    for (; next < end; next += LANES) {
        int64_t column[LANES];
        I mask = {0};
        for (int l = 0; l < LANES; l++) {
            column[l] = next + l < end ? next + l : end - 1, mask[l] = -1;
            for (int n = 0; n < c->size; n++) w->now[n][l] = b->v[n * b->width + column[l]];
        }
        w->loaded = 0, w->live = splat(1.0), w->fresh = w->active = mask;
        load(w, b, mask, column);
        memcpy(w->a, w->base, (size_t)(c->slots + 1) * sizeof(V));
        stamp_all(w, 0);
        factor(c, w->a, w->rhs, c->static_pivots, c->pivots);
        if (b->ohms) {
            invert(c, w->a, z);
            for (int n = 0; n < c->size; n++)
                for (int l = 0; l < LANES; l++) b->ohms[n * b->width + column[l]] = z[c->diagonal[n]][l];
        }
        if (b->samples) currents(w, before);
        for (int s = 0; s < b->samples; s++) {
            double *moved = b->moved + s * c->size * b->width;
            read(w, b, s + 1, mask, column);
            currents(w, w->rhs);
            for (int n = 0; n <= c->size; n++) w->rhs[n] = before[n] - w->rhs[n];
            forward(c, w->a, w->rhs);
            back(c, w->a, w->rhs, 0, c->pivots);
            for (int n = 0; n < c->size; n++)
                for (int l = 0; l < LANES; l++) moved[n * b->width + column[l]] = w->rhs[n][l];
        }
    }
}

/* Solve cases first..last-1 of the batch (with guess_row -1 v is given: only make it linear there);
 * 0, or 1 when there is no memory. */
int ENTRY(const Circuit *c, const Settings *settings, const Batch *b, int64_t first, int64_t last) {
    size_t at = 1, par = 1, n = (size_t)c->size + 1, s = (size_t)c->slots + 1;
    for (int k = 0; k < c->groups; k++) {
        at += (size_t)c->group[k].members * c->group[k].terminals;
        par += (size_t)c->group[k].members * (c->group[k].parameters + SPARE);
    }
    size_t bytes = (2 * s + 2 * n + (n + s + n) + at + par) * sizeof(V);
    void *memory = malloc(bytes + sizeof(V));
    if (!memory) return 1;
    memset(memory, 0, bytes + sizeof(V));
    Work w = {.circuit = c, .settings = settings};
    w.a = (V *)(((uintptr_t)memory + sizeof(V) - 1) / sizeof(V) * sizeof(V));
    w.base = w.a + s, w.push = w.base + s, w.now = w.push + n;
    w.at = w.now + n, w.par = w.at + at, w.rhs = w.par + par; /* rhs last: scratch behind it */
    if (b->guess_row >= 0) newton(&w, b, first, last);
    if (b->ohms || b->samples) linear(&w, b, first, last);
    free(memory);
    return 0;
}

#ifdef DISPATCH /* in one of the builds: which of them this machine can run */

typedef int Solve(const Circuit *, const Settings *, const Batch *, int64_t, int64_t);
Solve solve_plain;
#ifdef WITH_X86
Solve solve_avx2, solve_avx512;
static int level(void) {
    __builtin_cpu_init();
    if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq") &&
        __builtin_cpu_supports("avx512vl"))
        return 2;
    return __builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma");
}
static Solve *const solves[] = {solve_plain, solve_avx2, solve_avx512};
static const char *const names[] = {"plain", "avx2", "avx512"};
#else
static int level(void) { return 0; }
static Solve *const solves[] = {solve_plain};
static const char *const names[] = {"plain"};
#endif

int halfsplit_revision(void) { return REVISION; }
const char *halfsplit_name(void) { return names[level()]; }
int halfsplit_solve(const Circuit *c, const Settings *s, const Batch *b, int64_t first, int64_t last) {
    return solves[level()](c, s, b, first, last);
}
#endif
