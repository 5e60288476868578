/* Working arrays of one thread: LANES cases under way. */
#ifndef HALFSPLIT_KERNEL_WORK_H
#define HALFSPLIT_KERNEL_WORK_H

#include "kernel_laws.h"

/* what a lane is trying; newton.py says what each is */
enum { FIRST, LOGIC, FULL, LOGIC_COLD, FULL_COLD, SOFT, DONE, FAILED };

typedef struct {
    int32_t place, group, device; /* where in par; whose parameter it is */
} Row;

/* A parameter of one case that is not the base value; next: of the same case, or -1. */
typedef struct {
    int32_t next, row;
    double value;
} Change;

enum { BLOCK = 128 }; /* columns whose changes are looked for at once */

typedef struct {
    const Circuit *circuit;
    const Settings *settings;
    V *a, *base, *rhs, *push, *now, *at, *par; /* base and push: what the linear elements give */
    V *ahead;                                  /* the same, of the cases from loaded on */
    V live, bent;                              /* live: 0 in the logic phase */
    I fresh, active;                           /* lanes that begin a phase; that are not at rest */
    Row *row;
    double *usual;                             /* [rows] the base values */
    int64_t block, changes, room, loaded;
    int32_t head[BLOCK], *applied[LANES], count[LANES];
    Change *change;
} Work;

/* terminals that carry current, one bit each */
INLINE int carrying(int kind) {
    return kind == PHOTOTRANSISTOR ? 12 : kind == COMPARATOR || kind == AMPLIFIER ? 31
         : kind == CONDUCTANCE || kind == SOURCE || kind == DIODE || kind >= CONTACT ? 3 : 7;
}

/* The arrays, from one piece of memory; 0 when there is none. */
static void *make_work(Work *w, const Circuit *c, const Settings *settings) {
    size_t at = 1, par = 1, rows = 0, n = (size_t)c->size + 1, s = (size_t)c->slots + 1;
    for (int k = 0; k < c->groups; k++) {
        const Group *group = c->group + k;
        size_t members = (size_t)group->members;
        at += members * group->terminals;
        par += members * (group->parameters + SPARE);
        rows += members * group->parameters;
    }
    size_t vectors = 4 * s + 5 * n + at + par;
    size_t bytes = vectors * sizeof(V) + rows * (sizeof(Row) + sizeof(double) + LANES * sizeof(int32_t));
    void *memory = calloc(bytes + sizeof(V), 1);
    if (!memory) return memory;
    *w = (Work){.circuit = c, .settings = settings};
    w->a = (V *)(((uintptr_t)memory + sizeof(V) - 1) / sizeof(V) * sizeof(V));
    w->base = w->a + s, w->push = w->base + s, w->now = w->push + n;
    w->at = w->now + n, w->par = w->at + at, w->rhs = w->par + par; /* scratch behind rhs */
    w->ahead = w->rhs + n + s, w->usual = (double *)(w->ahead + s + n), w->row = (Row *)(w->usual + rows);
    for (int l = 0; l < LANES; l++) w->applied[l] = (int32_t *)(w->row + rows) + (size_t)l * rows;
    Row *row = w->row;
    int32_t place = 0, device = 0;
    for (int32_t k = 0; k < c->groups; k++)
        for (int m = 0; m < c->group[k].members; m++, device++, place += SPARE)
            for (int q = 0; q < c->group[k].parameters; q++) *row++ = (Row){place++, k, device};
    return memory;
}

#endif
