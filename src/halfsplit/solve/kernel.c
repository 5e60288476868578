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
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define REVISION 2

#define LN2 0.6931471805599453

#ifndef LANES
#define LANES 4
#endif
#ifndef ENTRY
#define ENTRY solve_plain
#endif

enum { CONDUCTANCE, SOURCE, DIODE, BIPOLAR, TTL_INPUT, LOGIC_OUTPUT, MOSFET, REGULATOR,
       PHOTOTRANSISTOR, COMPARATOR };
enum { FIRST, LOGIC, FULL, LOGIC_COLD, FULL_COLD, SOFT, DONE, FAILED };
enum { MOST_INPUTS = 16, MOST_VALUES = 96 };

typedef struct {
    int32_t kind, members, terminals, parameters, inputs, high;
    double sign;
    const int32_t *nodes;  /* [M, E] */
    const int32_t *slots;  /* [M, E, E] */
    const int32_t *level;  /* result, count, then (operator, left, right) of each operation */
    const int32_t *enable; /* the same; result -1 for always on */
} Group;

typedef struct {
    int32_t size, slots, static_slots, groups, pivots, static_pivots;
    const int32_t *program; /* of each pivot: node, slot, k, k x (lower, upper, node), k x k slots */
    const int32_t *starts;  /* [pivots] where each begins in the program */
    const int32_t *diagonal;
    const Group *group;
} Circuit;

typedef struct {
    double vt, leak, tolerance, logic_tolerance, noise, short_step;
    int32_t patience, most_first, most_logic, most_full, most_soft, soften;
} Settings;

typedef struct {
    int64_t width;
    const double *const *params; /* of each group [P, M, B] */
    const int64_t *strides;      /* [groups, 3], in numbers */
    const double *guess;         /* [N, B] or null */
    int64_t guess_row, guess_column;
    const int32_t *meter; /* [6, B]: red, black, slots of red-red, black-black, red-black, black-red */
    const double *meter_g, *meter_amps;
    double *v;         /* [N, B] */
    double *ohms;      /* [N, B] or null */
    uint8_t *resolved; /* [B] */
    int64_t *steps;    /* [B] iterations spent */
} Batch;

typedef double V __attribute__((vector_size(8 * LANES)));
typedef int64_t I __attribute__((vector_size(8 * LANES)));

typedef struct {
    const Circuit *circuit;
    const Settings *settings;
    V *a, *base, *rhs, *push, *now, *at, *par; /* base and push: what the linear elements give */
    V live, bent;                              /* live: 0 in the logic phase */
    I fresh;                                   /* lanes that begin a phase */
} Work;

#define INLINE static inline __attribute__((always_inline))

INLINE V pick(I mask, V yes, V no) { return (V)((mask & (I)yes) | (~mask & (I)no)); }
INLINE V splat(double x) { return (V){0} + x; }
/* not-a-number in a comes through */
INLINE V larger(V a, V b) { return pick(b > a, b, a); }
INLINE V smaller(V a, V b) { return pick(b < a, b, a); }
INLINE V size_of(V a) { return (V)((I)a & INT64_MAX); }
INLINE V within(V a, V low, V high) { return smaller(larger(a, low), high); }

/* exp by W. J. Cody and W. Waite (1980): reduced by ln 2 in two parts, then the Taylor series to
 * degree 13; below 2 ulp from -708 to 709, held there outside. */
INLINE V vexp(V x) {
    const double magic = 6755399441055744.0; /* 1.5 * 2^52: its low bits count in ones */
    x = within(x, splat(-708.0), splat(709.0));
    V shifted = x * 1.44269504088896340736 + magic;
    V k = shifted - magic;
    V r = (x - k * 6.93147180369123816490e-01) - k * 1.90821492927058770002e-10;
    V r2 = r * r, r4 = r2 * r2;
    V low = (1.0 + r) + r2 * (1.0 / 2 + r * (1.0 / 6));
    V mid = (1.0 / 24 + r * (1.0 / 120)) + r2 * (1.0 / 720 + r * (1.0 / 5040));
    V high = (1.0 / 40320 + r * (1.0 / 362880)) + r2 * (1.0 / 3628800 + r * (1.0 / 39916800));
    V top = 1.0 / 479001600 + r * (1.0 / 6227020800);
    V p = low + r4 * (mid + r4 * (high + r4 * top));
    return (V)((I)p + ((I)shifted << 52));
}

/* ln(1 + x) for x > -1: exponent apart, then the series of atanh; below 2 ulp for x >= 0. */
INLINE V vlog1p(V x) {
    V y = 1.0 + x;
    I bits = (I)y - 0x3fe6a09e667f3bcdLL; /* sqrt(1/2), so that the rest is around 1 */
    I e = (bits >> 52);
    V m = (V)((I)y - (e << 52));
    V k = (V)(e + 0x4338000000000000LL) - 6755399441055744.0;
    V f = pick(e == 0, x, m - 1.0);
    V s = f / (2.0 + f), z = s * s, z2 = z * z;
    V p = (1.0 / 3 + z * (1.0 / 5)) + z2 * ((1.0 / 7 + z * (1.0 / 9)) +
          z2 * ((1.0 / 11 + z * (1.0 / 13)) + z2 * ((1.0 / 15 + z * (1.0 / 17)) + z2 * (1.0 / 19))));
    return k * 6.93147180369123816490e-01 + (2.0 * s + (2.0 * s * z * p + k * 1.90821492927058770002e-10));
}

INLINE V vtanh(V x) { return 1.0 - 2.0 / (1.0 + vexp(2.0 * x)); }
INLINE V sigmoid(V x) { return 1.0 / (1.0 + vexp(-x)); }

/* scale ln(1 + exp(x / scale)) */
INLINE V softplus(V x, double scale, V *slope) {
    V z = x * (1.0 / scale);
    V u = vexp(-size_of(z)), r = 1.0 / (1.0 + u);
    *slope = pick(z >= 0.0, r, u * r);
    return scale * (larger(z, splat(0.0)) + vlog1p(u));
}

INLINE V limited_exp(V x, V *slope) {
    V low = smaller(x, splat(80.0)), value = vexp(low);
    *slope = value;
    return value * (1.0 + (x - low));
}

/* limit tanh(x / (limit ohms)) + 1 mS x, given 1 / (limit ohms) and 1 / ohms */
INLINE V saturating(V x, V limit, V inverse, V siemens, V *slope) {
    V t = vtanh(x * inverse);
    *slope = (1.0 - t * t) * siemens + 1e-3;
    return limit * t + 1e-3 * x;
}

INLINE V limit_junction(V fresh, V old, V vt, V critical) {
    V step = (fresh - old) / vt;
    V promised = old + vt * vlog1p(larger(step, splat(-1.0 + 1e-12)));
    I falling = (step < 0.0) & (step > -1.0) & (old > 0.5 * critical);
    I rising = (step > 0.0) & (fresh > critical);
    V upward = pick(old >= critical, promised, critical);
    return pick(rising, upward, pick(falling, promised, fresh));
}

INLINE V critical_of(V vt, V is) {
    return vt * vlog1p(vt / (1.4142135623730951 * larger(is, splat(1e-30))) - 1.0);
}

/* A law: derived parameters behind its own, once for a case; limited voltages, in place;
 * currents i and slopes g [E, E] (rows that carry no current are left alone). */

enum { SPARE = 4 }; /* places for derived parameters */

static void prepare(const Group *group, const Settings *settings, V *p) {
    V *more = p + group->parameters;
    if (group->kind == DIODE) {
        more[0] = p[1] * settings->vt, more[1] = p[3] * settings->vt;
        more[2] = critical_of(more[0], p[0]), more[3] = critical_of(more[1], splat(1e-3 / sqrt(2.0)));
    } else if (group->kind == BIPOLAR) {
        more[0] = p[3] * settings->vt, more[1] = critical_of(more[0], p[0]);
        more[2] = 1.0 / p[1], more[3] = 1.0 / p[2];
    } else if (group->kind == LOGIC_OUTPUT) {
        more[0] = 1.0 / (p[10] * p[11]), more[1] = 1.0 / p[11];
        more[2] = 1.0 / (p[13] * p[14]), more[3] = 1.0 / p[14];
    } else if (group->kind == REGULATOR) {
        V most = p[3] * p[2] * (1.0 / 0.005);
        more[0] = 0.7 * 0.005 * vlog1p(0.5 * most * most);
    }
}

INLINE void limit_step(V *x, const V *old, int count, double most) {
    for (int e = 0; e < count; e++)
        x[e] = old[e] + within(x[e] - old[e], splat(-most), splat(most));
}

INLINE void diode_limit(V *x, const V *old, const V *p) {
    V bv = p[2], vt = p[5], vtb = p[6];
    V fresh = x[0] - x[1], was = old[0] - old[1];
    V taken = limit_junction(fresh, was, vt, p[7]);
    V over = limit_junction(-(fresh + bv), -(was + bv), vtb, p[8]);
    x[0] = x[1] + pick(fresh < -0.5 * bv, -(over + bv), taken);
}

INLINE void diode(const V *x, const V *p, V *i, V *g) {
    V is = p[0], bv = p[2], gp = p[4], per = 1.0 / p[5], perb = 1.0 / p[6], slope, slopeb;
    V vd = x[0] - x[1];
    V forward = limited_exp(vd * per, &slope), reverse = limited_exp(-(vd + bv) * perb, &slopeb);
    i[0] = is * (forward - 1.0) - 1e-3 * reverse + gp * vd;
    g[0] = is * slope * per + 1e-3 * slopeb * perb + gp;
    i[1] = -i[0], g[1] = -g[0], g[2] = -g[0], g[3] = g[0];
}

INLINE void bipolar_limit(V *x, const V *old, const V *p, double s) {
    V bvce = p[4], vt = p[8], critical = p[9];
    V vbe = limit_junction(s * (x[1] - x[2]), s * (old[1] - old[2]), vt, critical);
    V vbc = limit_junction(s * (x[1] - x[0]), s * (old[1] - old[0]), vt, critical);
    V vce = vbe - vbc, was = s * (old[0] - old[2]);
    V over = limit_junction(vce - bvce, was - bvce, splat(0.5), splat(0.5));
    vbc = pick(vce > bvce, vbe - (over + bvce), vbc);
    x[0] = x[1] - s * vbc, x[2] = x[1] - s * vbe;
}

INLINE void bipolar(const V *x, const V *p, double s, V *i, V *g) {
    V is = p[0], bvce = p[4], gbe = p[5], gbc = p[6], gce = p[7], per = 1.0 / p[8], slope;
    V vbe = s * (x[1] - x[2]), vbc = s * (x[1] - x[0]), vce = vbe - vbc;
    V i_f = is * (limited_exp(vbe * per, &slope) - 1.0), g_f = is * slope * per;
    V i_r = is * (limited_exp(vbc * per, &slope) - 1.0), g_r = is * slope * per;
    V i_x = 1e-3 * limited_exp((vce - bvce) * 2.0, &slope) + gce * vce, g_x = 2e-3 * slope + gce;
    V i_be = i_f * p[10] + gbe * vbe, g_be = g_f * p[10] + gbe;
    V i_bc = i_r * p[11] + gbc * vbc, g_bc = g_r * p[11] + gbc;
    V ic = i_f - i_r + i_x - i_bc, ib = i_be + i_bc;
    V by_be[3] = {g_f + g_x, g_be}, by_bc[3] = {-g_r - g_x - g_bc, g_bc};
    by_be[2] = -(by_be[0] + by_be[1]), by_bc[2] = -(by_bc[0] + by_bc[1]);
    i[0] = s * ic, i[1] = s * ib, i[2] = -(i[0] + i[1]);
    for (int e = 0; e < 3; e++)
        g[3 * e] = -by_bc[e], g[3 * e + 1] = by_be[e] + by_bc[e], g[3 * e + 2] = -by_be[e];
}

/* 0 without a supply, 1 with one */
INLINE V awake(V vs, V *slope) {
    V over = 1.0 / (vs * vs + 0.04);
    *slope = 0.08 * vs * over * over;
    return vs * vs * over;
}

INLINE void ttl_input(const V *x, const V *p, V *i, V *g) {
    V y = x[0] - x[2], vs = x[1] - x[2], k = p[3] / p[0], leak = p[4], ramp_slope;
    V ramp = softplus(vs - p[1] - y, 0.05, &ramp_slope), gate = sigmoid(12.0 * (p[2] - y));
    V wake_slope, wake = awake(vs, &wake_slope);
    V push = k * wake * ramp * gate, push_s = k * wake * ramp_slope * gate;
    V push_y = -push_s - 12.0 * push * (1.0 - gate);
    push_s += k * wake_slope * ramp * gate;
    i[0] = leak * y - push, i[1] = push, i[2] = -leak * y;
    g[0] = leak - push_y, g[1] = -push_s, g[2] = push_y + push_s - leak;
    g[3] = push_y, g[4] = push_s, g[5] = -push_y - push_s;
    g[6] = -leak, g[7] = splat(0.0), g[8] = leak;
}

INLINE void mosfet(const V *x, const V *p, double s, V *i, V *g) {
    V k = p[0], vth = p[1], gds = p[2], ggs = p[3], ggd = p[4], fs_slope, fd_slope;
    V d = s * x[0], gate = s * x[1], o = s * x[2];
    V fs = softplus(gate - o - vth, 0.05, &fs_slope), fd = softplus(gate - d - vth, 0.05, &fd_slope);
    V a = k * fs * fs_slope, b = k * fd * fd_slope;
    i[0] = s * (0.5 * k * (fs * fs - fd * fd) + gds * (d - o) + ggd * (d - gate));
    i[1] = s * (ggs * (gate - o) + ggd * (gate - d));
    i[2] = -(i[0] + i[1]);
    g[0] = b + gds + ggd, g[1] = a - b - ggd, g[2] = -a - gds;
    g[3] = -ggd, g[4] = ggs + ggd, g[5] = -ggs;
    for (int f = 0; f < 3; f++) g[6 + f] = -(g[f] + g[3 + f]);
}

/* where a step goes through zero and does not start there */
INLINE I crosses(V was, V fresh) { return (size_of(was) > 1e-6) & (was * fresh < 0.0); }

INLINE void regulator_limit(V *x, const V *old, const V *p, double s) {
    V vset = p[0], corner = vset + p[1], turn = p[8], slope;
    V vi = s * (x[0] - x[2]), vo = s * (x[1] - x[2]);
    V was_i = s * (old[0] - old[2]), was_o = s * (old[1] - old[2]);
    vi = pick((was_i > corner + 1e-6) & (vi < corner), corner, vi);
    vi = pick(crosses(was_i - 1.5, vi - 1.5), splat(1.5), vi);
    V target = vset - softplus(corner - vi, 0.05, &slope);
    V was = vset - softplus(corner - was_i, 0.05, &slope) - was_o;
    vo = pick(crosses(was - turn, target - vo - turn), target - turn, vo);
    x[0] = x[2] + s * vi, x[1] = x[2] + s * vo;
}

INLINE void regulator(const V *x, const V *p, double s, V *i, V *g) {
    V vset = p[0], drop = p[1], r = p[2], ilim = p[3], iq = p[4], k = p[5], gio = p[6], gog = p[7];
    V vi = s * (x[0] - x[2]), vo = s * (x[1] - x[2]), target_i, head_slope;
    V target = vset - softplus(vset - (vi - drop), 0.05, &target_i);
    V head = softplus(target - vo, 0.005, &head_slope), t = vtanh(head / (ilim * r));
    V push = k * (ilim * t + 1e-3 * head), push_h = k * ((1.0 - t * t) / r + 1e-3) * head_slope;
    V push_i = push_h * target_i, wake = sigmoid((vi - 1.5) / 0.2);
    V own = iq * (wake - 5.5277863692359955e-4), own_i = iq * wake * (1.0 - wake) / 0.2;
    i[0] = s * (push + own + gio * (vi - vo)), i[1] = s * (-push + gio * (vo - vi) + gog * vo);
    i[2] = -(i[0] + i[1]);
    g[0] = push_i + own_i + gio, g[1] = -push_h - gio, g[2] = -(g[0] + g[1]);
    g[3] = -push_i - gio, g[4] = push_h + gio + gog, g[5] = -(g[3] + g[4]);
    for (int f = 0; f < 3; f++) g[6 + f] = -(g[f] + g[3 + f]);
}

INLINE void phototransistor_limit(V *x, const V *old, const V *p, const Settings *settings) {
    V step = (x[0] - x[1]) - (old[0] - old[1]);
    x[0] = x[1] + (old[0] - old[1]) + within(step, splat(-0.5), 6.0 * p[1] * settings->vt);
    V fresh = x[2] - x[3], was = old[2] - old[3];
    V bottom = pick(was > 0.6, splat(0.3), was - 0.15);
    V top = pick(was < 0.3, splat(0.6), splat(INFINITY));
    x[2] = x[3] + within(fresh, bottom, top);
}

INLINE void phototransistor(const V *x, const V *p, const Settings *settings, V *i, V *g) {
    V is = p[0], per = 1.0 / (p[1] * settings->vt), gain = p[2] * p[3], dark = p[4];
    V vce = x[2] - x[3], e_slope, led_slope, pos_slope;
    V led = softplus(is * (limited_exp((x[0] - x[1]) * per, &e_slope) - 1.0), 1e-6, &led_slope);
    led -= 1e-6 * LN2;
    led_slope *= is * e_slope * per;
    V t = vtanh((softplus(vce, 0.02, &pos_slope) - 0.02 * LN2) / 0.1), t_slope = (1.0 - t * t) / 0.1 * pos_slope;
    V by_led = gain * led_slope * t, by_ce = gain * led * t_slope + dark;
    i[2] = gain * led * t + dark * vce, i[3] = -i[2];
    g[8] = by_led, g[9] = -by_led, g[10] = by_ce, g[11] = -by_ce;
    for (int f = 0; f < 4; f++) g[12 + f] = -g[8 + f];
}

INLINE void comparator(const V *x, const V *p, V live, V *i, V *g) {
    V il = p[5], rl = p[6], ib = p[8], y = x[0] - x[2], vs = x[1] - x[2], sink_y;
    V level = sigmoid(p[1] * (x[3] - x[4] + p[0])), h = p[2] + p[3] * level;
    V wake_slope, wake = awake(vs, &wake_slope), power = sigmoid(4.0 * (vs - p[7]));
    V power_s = power * (4.0 * (1.0 - power) * wake + wake_slope);
    power *= wake;
    V sink = saturating(y, il, 1.0 / (il * rl), 1.0 / rl, &sink_y), on = p[4] * power * (1.0 - h);
    i[0] = on * sink + p[11] * y;
    g[0] = on * sink_y + p[11], g[1] = p[4] * power_s * (1.0 - h) * sink;
    g[3] = -live * p[4] * power * p[3] * p[1] * level * (1.0 - level) * sink, g[4] = -g[3];
    for (int e = 3; e < 5; e++) {
        V u = x[e] - x[2], gate = sigmoid(6.0 * (vs - 1.2 - u));
        V steep = 6.0 * ib * gate * (1.0 - gate) * wake;
        i[e] = p[6 + e] * u - ib * gate * wake;
        for (int f = 0; f < 5; f++) g[5 * e + f] = splat(0.0);
        g[5 * e + 1] = -steep - ib * gate * wake_slope, g[5 * e + e] = p[6 + e] + steep;
    }
    i[2] = -(i[0] + i[3] + i[4]);
    for (int f = 0; f < 5; f++) g[10 + f] = -(g[f] + g[15 + f] + g[20 + f]);
    for (int e = 0; e < 5; e++)
        g[5 * e + 2] = -(g[5 * e] + g[5 * e + 1] + g[5 * e + 3] + g[5 * e + 4]);
}

/* Value of a logic expression and its derivatives by the inputs, backwards through the tape.
 * value[]: the inputs, the stored bit, 0, 1, then the result of each operation. */
static V logic(const int32_t *tape, int inputs, V *value, V *by) {
    V back[MOST_VALUES];
    int result = tape[0], count = tape[1], first = inputs + 3;
    const int32_t *op = tape + 2;
    for (int k = 0; k < count; k++, op += 3) {
        V a = value[op[1]], b = value[op[2]];
        value[first + k] = op[0] == '!' ? 1.0 - a : op[0] == '&' ? a * b
                         : op[0] == '|' ? a + b - a * b : a + b - 2.0 * a * b;
    }
    memset(back, 0, (size_t)(first + count) * sizeof(V));
    back[result] = splat(1.0);
    for (int k = count - 1; k >= 0; k--) {
        op -= 3;
        V a = value[op[1]], b = value[op[2]], top = back[first + k];
        if (op[0] == '!') {
            back[op[1]] -= top;
        } else if (op[0] == '&') {
            back[op[1]] += top * b, back[op[2]] += top * a;
        } else {
            double twice = op[0] == '|' ? 1.0 : 2.0;
            back[op[1]] += top * (1.0 - twice * b), back[op[2]] += top * (1.0 - twice * a);
        }
    }
    memcpy(by, back, (size_t)inputs * sizeof(V));
    return value[result];
}

static void logic_output(const Group *group, const V *x, const V *p, V live, V *i, V *g) {
    int n = group->inputs, width = 3 + n;
    V value[MOST_VALUES], dx[MOST_INPUTS], dh[MOST_INPUTS], den[MOST_INPUTS];
    const V *more = p + group->parameters;
    V y = x[0] - x[2], vs = x[1] - x[2], threshold = p[0] * (1.0 - p[1] + p[1] * vs);
    for (int k = 0; k < n; k++) {
        V level = sigmoid(p[2] * (x[3 + k] - x[2] - threshold)), w = p[19 + 2 * k];
        value[k] = p[18 + 2 * k] + w * level;
        dx[k] = live * w * p[2] * level * (1.0 - level);
    }
    value[n] = p[7], value[n + 1] = splat(0.0), value[n + 2] = splat(1.0);
    V h = p[3] + p[4] * logic(group->level, n, value, dh), en = p[5] + p[6];
    if (group->enable[0] >= 0) en = p[5] + p[6] * logic(group->enable, n, value, den);
    V wake_slope, wake = awake(vs, &wake_slope), power = sigmoid(4.0 * (vs - p[16])), leak = p[17];
    V power_s = power * (4.0 * (1.0 - power) * wake + wake_slope);
    power *= wake;
    V low_y, low = p[8] * saturating(y - p[12], p[10], more[0], more[1], &low_y);
    V up = splat(0.0), up_z = up, ramp_slope = splat(1.0);
    if (group->high) {
        V head = vs - p[15] - y;
        if (group->high == 1) head = softplus(head, 0.03, &ramp_slope);
        up = p[9] * saturating(head, p[13], more[2], more[3], &up_z);
    }
    V down_on = power * en * (1.0 - h), up_on = power * en * h;
    V i_low = down_on * low, i_up = up_on * up;
    V up_s = up_on * p[9] * up_z * ramp_slope;
    i[0] = i_low - i_up + leak * y, i[1] = i_up, i[2] = -i_low - leak * y;
    V low_0 = down_on * p[8] * low_y;
    V low_1 = power_s * en * (1.0 - h) * low, up_1 = up_s + power_s * en * h * up;
    V sums[3] = {splat(0.0), splat(0.0), splat(0.0)};
    for (int k = 0; k < n; k++) {
        V by_h = p[4] * dh[k] * dx[k], by_en = splat(0.0);
        if (group->enable[0] >= 0) by_en = p[6] * den[k] * dx[k];
        V low_k = power * ((1.0 - h) * by_en - en * by_h) * low;
        V up_k = power * (h * by_en + en * by_h) * up;
        g[3 + k] = low_k - up_k, g[width + 3 + k] = up_k, g[2 * width + 3 + k] = -low_k;
        for (int e = 0; e < 3; e++) sums[e] += g[e * width + 3 + k];
    }
    g[0] = low_0 + up_s + leak, g[1] = low_1 - up_1;
    g[width] = -up_s, g[width + 1] = up_1;
    g[2 * width] = -low_0 - leak, g[2 * width + 1] = -low_1;
    for (int e = 0; e < 3; e++) {
        V *row = g + e * width;
        row[1] -= p[0] * p[1] * sums[e];
        row[2] = -row[0] - row[1] - sums[e];
    }
}

/* Evaluate the elements of a group (limited or just where they are) and add them up. */
INLINE void stamp(Work *w, const Group *group, V *at, const V *par, int count, int rows, int limited,
                  int kind) {
    int stride = group->parameters + SPARE;
    double s = group->sign;
    V x[3 + MOST_INPUTS], old[3 + MOST_INPUTS], i[3 + MOST_INPUTS], g[3 * (3 + MOST_INPUTS) + 25];
    for (int m = 0; m < group->members; m++, at += count, par += stride) {
        const int32_t *nodes = group->nodes + m * count, *slots = group->slots + m * count * count;
        for (int e = 0; e < count; e++) x[e] = w->now[nodes[e]], old[e] = pick(w->fresh, x[e], at[e]);
        if (limited) {
            switch (kind) {
            case DIODE: diode_limit(x, old, par); break;
            case BIPOLAR: bipolar_limit(x, old, par, s); break;
            case TTL_INPUT: limit_step(x, old, count, 0.7); break;
            case LOGIC_OUTPUT: limit_step(x, old, count, 0.6); break;
            case MOSFET: limit_step(x, old, count, 2.0); break;
            case REGULATOR: regulator_limit(x, old, par, s); break;
            case PHOTOTRANSISTOR: phototransistor_limit(x, old, par, w->settings); break;
            case COMPARATOR: limit_step(x, old, count, 1.0); break;
            }
            for (int e = 0; e < count; e++)
                w->bent = larger(w->bent, size_of(x[e] - w->now[nodes[e]])), at[e] = x[e];
        }
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
        for (int e = 0; e < count; e++) {
            if (!(rows >> e & 1)) continue;
            V push = -i[e];
            for (int f = 0; f < count; f++)
                w->a[slots[e * count + f]] += g[e * count + f], push += g[e * count + f] * x[f];
            w->rhs[nodes[e]] += push;
        }
    }
}

static void stamp_all(Work *w, int limited) {
    V *at = w->at, *par = w->par;
    w->bent = splat(0.0);
    for (int k = 0; k < w->circuit->groups; k++) {
        const Group *group = w->circuit->group + k;
        switch (group->kind) {
        case CONDUCTANCE: case SOURCE: continue;
        case DIODE: stamp(w, group, at, par, 2, 3, limited, DIODE); break;
        case BIPOLAR: stamp(w, group, at, par, 3, 7, limited, BIPOLAR); break;
        case TTL_INPUT: stamp(w, group, at, par, 3, 7, limited, TTL_INPUT); break;
        case LOGIC_OUTPUT: stamp(w, group, at, par, group->terminals, 7, limited, LOGIC_OUTPUT); break;
        case MOSFET: stamp(w, group, at, par, 3, 7, limited, MOSFET); break;
        case REGULATOR: stamp(w, group, at, par, 3, 7, limited, REGULATOR); break;
        case PHOTOTRANSISTOR: stamp(w, group, at, par, 4, 12, limited, PHOTOTRANSISTOR); break;
        case COMPARATOR: stamp(w, group, at, par, 5, 29, limited, COMPARATOR); break;
        }
        at += group->members * group->terminals;
        par += group->members * (group->parameters + SPARE);
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

/* Put cases column[] into the lanes of mask: parameters, linear elements, static elimination. */
static void load(Work *w, const Batch *b, I mask, const int64_t *column) {
    const Circuit *c = w->circuit;
    V *par = w->par, *a = w->rhs + c->size + 1, *rhs = a + c->slots + 1; /* scratch behind rhs */
    memset(a, 0, (size_t)(c->slots + 1 + c->size + 1) * sizeof(V));
    for (int n = 0; n < c->size; n++) a[c->diagonal[n]] = splat(w->settings->leak);
    for (int k = 0; k < c->groups; k++) {
        const Group *group = c->group + k;
        const int64_t *stride = b->strides + 3 * k;
        int linear = group->kind <= SOURCE, places = group->parameters + (linear ? 0 : SPARE);
        V few[2];
        for (int m = 0; m < group->members; m++) {
            V *p = linear ? few : par + m * places;
            for (int q = 0; q < group->parameters; q++) {
                const double *from = b->params[k] + q * stride[0] + m * stride[1];
                for (int l = 0; l < LANES; l++)
                    if (mask[l]) p[q][l] = from[column[l] * stride[2]];
            }
            if (!linear) {
                prepare(group, w->settings, p);
                continue;
            }
            const int32_t *nodes = group->nodes + 2 * m, *slots = group->slots + 4 * m;
            a[slots[0]] += few[0], a[slots[1]] -= few[0], a[slots[2]] -= few[0], a[slots[3]] += few[0];
            if (group->kind == SOURCE)
                rhs[nodes[0]] += few[0] * few[1], rhs[nodes[1]] -= few[0] * few[1];
        }
        if (!linear) par += group->members * places;
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
    int phase[LANES], step[LANES], rested;
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
            w->fresh[l] = step[l] ? 0 : -1;
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
            w->now[node] = pick(share == 1.0, w->rhs[node], w->now[node] + share * change);
        }
        for (int l = 0; l < LANES; l++) {
            if (phase[l] >= DONE) continue;
            b->steps[column[l]]++, step[l]++;
            double tolerance = w->live[l] > 0.0 ? set->tolerance : set->logic_tolerance;
            if (!sound[l]) {
                int count = 0;
                for (int k = 0; k < c->groups; k++)
                    if (c->group[k].kind > SOURCE) count += c->group[k].members * c->group[k].terminals;
                for (int n = 0; n < count; n++) w->at[n][l] = 0.0;
                place(w, b, l, column[l], 0);
                last[l] = INFINITY, rested = 0;
            } else {
                rested = moved[l] < tolerance || (moved[l] < set->noise && last[l] < set->noise);
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

/* Source resistance of every node of solved cases. */
static void resistances(Work *w, const Batch *b, int64_t next, int64_t end) {
    const Circuit *c = w->circuit;
    V *z = w->rhs + c->size + 1;
    for (; next < end; next += LANES) {
        int64_t column[LANES];
        I mask = {0};
        for (int l = 0; l < LANES; l++) {
            column[l] = next + l < end ? next + l : end - 1, mask[l] = -1;
            for (int n = 0; n < c->size; n++) w->now[n][l] = b->v[n * b->width + column[l]];
        }
        load(w, b, mask, column);
        memcpy(w->a, w->base, (size_t)(c->slots + 1) * sizeof(V));
        w->live = splat(1.0), w->fresh = mask;
        stamp_all(w, 0);
        factor(c, w->a, w->rhs, c->static_pivots, c->pivots);
        invert(c, w->a, z);
        for (int n = 0; n < c->size; n++)
            for (int l = 0; l < LANES; l++) b->ohms[n * b->width + column[l]] = z[c->diagonal[n]][l];
    }
}

/* Solve cases first..last-1 of the batch; 0, or 1 when there is no memory. */
int ENTRY(const Circuit *c, const Settings *settings, const Batch *b, int64_t first, int64_t last) {
    size_t at = 1, par = 1, n = (size_t)c->size + 1, s = (size_t)c->slots + 1;
    for (int k = 0; k < c->groups; k++) {
        if (c->group[k].kind <= SOURCE) continue;
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
    newton(&w, b, first, last);
    if (b->ohms) resistances(&w, b, first, last);
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
