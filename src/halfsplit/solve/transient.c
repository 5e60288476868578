/* The compiled twin of transient.py: one step of time for many cases of one circuit.
 *
 * transient.py is the reference and says why. This file keeps every case's parameters, linear
 * elements and evaluated devices between steps, LANES cases to a block, and evaluates a device
 * again only when one of its terminals has moved by more than NEAR since, and that could alter a
 * current: between edges most do not. A block whose error is too large takes its step in halves, all of its lanes.
 *
 * transient_compiled.py fills the structures; they must agree with TRANSIENT_REVISION.
 */
#include "transient_stage.h"

#define TRANSIENT_REVISION 3
#define JOINED(entry, name) entry##_##name
#define JOIN(entry, name) JOINED(entry, name)

static void *work_space(Run *r) {
    const March *m = r->march;
    size_t n = (size_t)m->circuit->size + 1, s = (size_t)m->circuit->slots + 1, k = (size_t)m->stores;
    void *memory = calloc((2 * s + 7 * n + 8 * k + 1) * sizeof(V) + (3 * sizeof(int32_t) + 1) * n, 1);
    if (!memory) return memory;
    r->a = (V *)(((uintptr_t)memory + sizeof(V) - 1) / sizeof(V) * sizeof(V));
    r->rhs = r->a + s, r->held = r->rhs + n, r->v = r->held + n, r->start = r->v + n;
    r->first_v = r->start + n, r->per = r->first_v + n;
    r->x = r->per + k, r->slope = r->x + k, r->value = r->slope + k, r->ohms = r->value + k;
    r->first = r->ohms + k, r->x1 = r->first + k, r->next = r->x1 + k;
    r->apart = r->next + k, r->apart_push = r->apart + s, r->apart_rhs = r->apart_push + n;
    r->place = (int32_t *)(r->apart_rhs + n), r->parent = r->place + n, r->list = r->parent + n;
    r->moving = (uint8_t *)(r->list + n);
    find_parents(r);
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
        r.memory = memory_of(&r, number);
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
