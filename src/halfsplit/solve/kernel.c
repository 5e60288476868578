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
#include "kernel_cases.h"
#include "kernel_stamp.h"

static int most(const Settings *s, int phase) {
    return phase == FIRST ? s->most_first : phase == SOFT ? s->most_soft
         : phase == LOGIC || phase == LOGIC_COLD ? s->most_logic : s->most_full;
}

static int newton(Work *w, const Batch *b, int64_t next, int64_t end) {
    const Circuit *c = w->circuit;
    const Settings *set = w->settings;
    int phase[LANES], step[LANES], broken[LANES] = {0}, taken[LANES] = {0}, rested;
    int64_t column[LANES];
    double last[LANES];
    V soft = splat(0.0), share = soft;
    for (int l = 0; l < LANES; l++) phase[l] = DONE, column[l] = -1, step[l] = 0, last[l] = INFINITY;
    usual(w, b);
    w->block = next - BLOCK, w->loaded = next - LANES;
    for (;;) {
        int idle = 0;
        for (int l = 0; l < LANES; l++) idle += phase[l] >= DONE;
        if (idle == LANES || (idle >= (LANES + 3) / 4 && next < end)) {
            store(w, b, phase, column);
            for (int l = 0; l < LANES; l++) {
                if (phase[l] < DONE) continue;
                column[l] = next < end ? next++ : -1;
                if (column[l] < 0) continue;
                if (column[l] - w->block >= BLOCK && look(w, b, column[l], end)) return 1;
                int linear = change(w, l, column[l]);
                if (linear || b->meter || !taken[l]) take(w, b, l, column[l], end);
                taken[l] = 1, phase[l] = b->guess ? FIRST : LOGIC_COLD, step[l] = 0;
                place(w, b, l, column[l], b->guess != NULL);
                idle--;
            }
            if (idle == LANES) return 0;
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
    V *z = w->rhs + c->size + 1, *before = w->push;
    for (; next < end; next += LANES) {
        int64_t column[LANES];
        I mask = {0};
        for (int l = 0; l < LANES; l++) {
            column[l] = next + l < end ? next + l : end - 1, mask[l] = -1;
            for (int n = 0; n < c->size; n++) w->now[n][l] = b->v[n * b->width + column[l]];
        }
        w->live = splat(1.0), w->fresh = w->active = mask;
        read(w, b, 0, mask, column);
        load(w, b, next, end);
        memcpy(w->a, w->ahead, (size_t)(c->slots + 1) * sizeof(V));
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
    Work w;
    void *memory = make_work(&w, c, settings);
    if (!memory) return 1;
    int failed = b->guess_row >= 0 && newton(&w, b, first, last);
    if (!failed && (b->ohms || b->samples)) linear(&w, b, first, last);
    free(w.change);
    free(memory);
    return failed;
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
