/* Devices into the matrix: limited, evaluated where they moved, and added up. */
#ifndef HALFSPLIT_KERNEL_STAMP_H
#define HALFSPLIT_KERNEL_STAMP_H

#include "kernel_work.h"

/* of each curved law, and its terminals */
#define EACH(LAW) \
    LAW(DIODE, 2) LAW(BIPOLAR, 3) LAW(TTL_INPUT, 3) LAW(LOGIC_OUTPUT, count) LAW(MOSFET, 3) \
    LAW(REGULATOR, 3) LAW(PHOTOTRANSISTOR, 4) LAW(COMPARATOR, 5) LAW(AMPLIFIER, 5) LAW(CONTACT, 4) \
    LAW(STAGE_TROUBLE, count) LAW(STAGE_DRIVE, 3)

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
    case AMPLIFIER: amplifier_limit(x, old, par); break;
    case CONTACT: limit_step(x + 2, old + 2, 2, 2.0); break; /* its own sides may jump */
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
    case AMPLIFIER: amplifier(x, par, i, g); break;
    case CONTACT: contact(x, par, w->live, i, g); break;
    case STAGE_TROUBLE: stage_trouble(group, x, par, i, g); break;
    case STAGE_DRIVE: stage_drive(x, par, i, g); break;
    }
}

/* The elements of a group at the voltages of now, limited or just there, are added up. */
INLINE void stamp(Work *w, const Group *group, V *at, const V *par, int count, int limited, int kind) {
    int stride = group->parameters + SPARE, rows = carrying(kind);
    double s = group->sign;
    V bent = w->bent, *a = w->a, *rhs = w->rhs, *now = w->now;
    I fresh = w->fresh;
    V x[3 + MOST_INPUTS], old[3 + MOST_INPUTS], i[3 + MOST_INPUTS], g[ENTRIES];
    for (int m = 0; m < group->members; m++, at += count, par += stride) {
        const int32_t *nodes = group->nodes + m * count, *slots = group->slots + m * count * count;
        for (int e = 0; e < count; e++) x[e] = now[nodes[e]];
        if (limited) {
            for (int e = 0; e < count; e++) old[e] = pick(fresh, x[e], at[e]);
            limit(kind, count, x, old, par, s, w->settings);
            for (int e = 0; e < count; e++) {
                bent = larger(bent, size_of(x[e] - now[nodes[e]]));
                at[e] = x[e];
            }
        }
        evaluate(kind, group, x, par, s, w, i, g);
        for (int e = 0; e < count; e++) {
            if (!(rows >> e & 1)) continue;
            V push = -i[e];
            for (int f = 0; f < count; f++) {
                a[slots[e * count + f]] += g[e * count + f];
                push += g[e * count + f] * x[f];
            }
            rhs[nodes[e]] += push;
        }
    }
    w->bent = bent;
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
        EACH(LAW)
        }
        at += members * count;
        par += members * (group->parameters + SPARE);
    }
}

#endif
