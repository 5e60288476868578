/* The laws of the files of laws on LANES cases at once: what each file there says, said again in C.
 * Whoever changes a law changes both; tests/solve/test_kernel.py sees a difference. */
#ifndef HALFSPLIT_KERNEL_LAWS_H
#define HALFSPLIT_KERNEL_LAWS_H

#include "kernel.h"

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
    } else if (group->kind == AMPLIFIER) {
        more[0] = 1.0 / (p[4] * p[5]), more[1] = 1.0 / p[4];
    } else if (group->kind == REGULATOR) {
        V most = p[3] * p[2] * (1.0 / 0.005);
        more[0] = 0.7 * 0.005 * vlog1p(0.5 * most * most);
    }
}

INLINE void limit_step(V *x, const V *old, int count, double most) {
    for (int e = 0; e < count; e++)
        x[e] = old[e] + within(x[e] - old[e], splat(-most), splat(most));
}

/* where a step goes through zero and does not start there */
INLINE I crosses(V was, V fresh) { return (size_of(was) > 1e-6) & (was * fresh < 0.0); }

INLINE void diode_limit(V *x, const V *old, const V *p) {
    V bv = p[2], vt = p[5], vtb = p[6];
    V fresh = x[0] - x[1], was = old[0] - old[1];
    V taken = limit_junction(fresh, was, vt, p[7]);
    I back = fresh < -0.5 * bv;
    if (any(back)) taken = pick(back, -(limit_junction(-(fresh + bv), -(was + bv), vtb, p[8]) + bv), taken);
    x[0] = x[1] + taken;
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
    I broken = vce > bvce;
    if (any(broken))
        vbc = pick(broken, vbe - (limit_junction(vce - bvce, was - bvce, splat(0.5), splat(0.5)) + bvce), vbc);
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

/* the current and the slopes of terminal 2 of 5: what the others leave */
INLINE void finish(V *i, V *g) {
    i[2] = -(i[0] + i[1] + i[3] + i[4]);
    for (int f = 0; f < 5; f++) g[10 + f] = -(g[f] + g[5 + f] + g[15 + f] + g[20 + f]);
    for (int e = 0; e < 5; e++)
        g[5 * e + 2] = -(g[5 * e] + g[5 * e + 1] + g[5 * e + 3] + g[5 * e + 4]);
}

INLINE void comparator(const V *x, const V *p, V live, V *i, V *g) {
    V il = p[5], rl = p[6], ib = p[8], y = x[0] - x[2], vs = x[1] - x[2], sink_y;
    V level = sigmoid(p[1] * (x[3] - x[4] + p[0])), h = p[2] + p[3] * level;
    V wake_slope, wake = awake(vs, &wake_slope), power = sigmoid(4.0 * (vs - p[7]));
    V power_s = power * (4.0 * (1.0 - power) * wake + wake_slope);
    power *= wake;
    V sink = saturating(y, il, 1.0 / (il * rl), 1.0 / rl, &sink_y), on = p[4] * power * (1.0 - h);
    i[0] = on * sink + p[11] * y, i[1] = splat(0.0);
    for (int e = 0; e < 25; e++) g[e] = splat(0.0);
    g[0] = on * sink_y + p[11], g[1] = p[4] * power_s * (1.0 - h) * sink;
    g[3] = -live * p[4] * power * p[3] * p[1] * level * (1.0 - level) * sink, g[4] = -g[3];
    for (int e = 3; e < 5; e++) {
        V u = x[e] - x[2], gate = sigmoid(6.0 * (vs - 1.2 - u));
        V steep = 6.0 * ib * gate * (1.0 - gate) * wake, bias = ib * gate * wake;
        V bias_s = steep + ib * gate * wake_slope;
        i[e] = p[6 + e] * u - bias, i[1] += bias;
        g[5 * e + 1] = -bias_s, g[5 * e + e] = p[6 + e] + steep;
        g[6] += bias_s, g[5 + e] = -steep;
    }
    finish(i, g);
}

/* half of what an amplifier's output can swing, and its slope with the supply */
INLINE V half_swing(V vs, const V *p, V *slope) {
    V room = softplus(vs - p[2] - p[3], 0.05, slope);
    *slope *= 0.5;
    return 0.5 * room + 0.01;
}

INLINE void amplifier_limit(V *x, const V *old, const V *p) {
    limit_step(x + 1, old + 1, 2, 4.0);
    V slope, vos = p[0], half = half_swing(x[1] - x[2], p, &slope);
    I out = p[8] >= 0.0;
    V corner = pick(out, x[1] - 1.2, x[2] + 1.2), before = pick(out, old[1] - 1.2, old[2] + 1.2);
    for (int e = 3; e < 5; e++) x[e] = pick(crosses(old[e] - before, x[e] - corner), corner, x[e]);
    V fresh = x[3] - x[4] + vos, was = old[3] - old[4] + vos;
    I over = (fresh * was < 0.0) & (size_of(was) > 2.0 * half / p[1]);
    x[3] = pick(over, x[4] - vos, x[3]);
    x[0] = pick(over, x[2] + p[3] + half, x[0]);
}

INLINE void amplifier(const V *x, const V *p, V *i, V *g) {
    V steep = p[1], low = p[3], ilim = p[5], k = p[6], leak = p[11];
    V y = x[0] - x[2], vs = x[1] - x[2], half_s, half = half_swing(vs, p, &half_s);
    V drive = steep * (x[3] - x[4] + p[0]) / half, t = vtanh(drive), bend = 1.0 - t * t;
    V target_d = steep * bend, target_s = half_s * (1.0 + t - drive * bend);
    V wake_slope, wake = awake(vs, &wake_slope), power = sigmoid(4.0 * (vs - p[7]));
    V on = k * power * wake, on_s = k * power * (4.0 * (1.0 - power) * wake + wake_slope), share;
    V head = y - (low + half * (1.0 + t)), s = vtanh(head * p[12]);
    V raw = ilim * s + 1e-3 * head, raw_h = (1.0 - s * s) * p[13] + 1e-3;
    /* what it sinks goes to the negative supply, what it gives comes out of the positive one */
    V push = softplus(raw, 1e-4, &share) - raw, push_h = on * (share - 1.0) * raw_h;
    i[0] = on * raw + leak * y, i[1] = on * push;
    g[0] = on * raw_h + leak, g[1] = on_s * raw - on * raw_h * target_s;
    g[3] = -on * raw_h * target_d, g[4] = -g[3];
    g[5] = push_h, g[6] = on_s * push - push_h * target_s;
    g[8] = -push_h * target_d, g[9] = -g[8];
    I out = p[8] >= 0.0; /* a current out of the inputs: until they are near the positive supply */
    V supplied = pick(out, splat(1.0), splat(0.0));
    for (int e = 3; e < 5; e++) {
        V u = x[e] - x[2], gate = sigmoid(6.0 * pick(out, vs - 1.2 - u, u - 1.2));
        V steeply = 6.0 * p[8] * gate * (1.0 - gate) * wake, bias = p[8] * gate * wake;
        V by_u = pick(out, -steeply, steeply), by_s = supplied * steeply + p[8] * gate * wake_slope;
        i[e] = p[6 + e] * u - bias, i[1] += supplied * bias;
        for (int f = 0; f < 5; f++) g[5 * e + f] = splat(0.0);
        g[5 * e + 1] = -by_s, g[5 * e + e] = p[6 + e] - by_u;
        g[6] += supplied * by_s, g[5 + e] += supplied * by_u;
    }
    finish(i, g);
}

INLINE void contact(const V *x, const V *p, V live, V *i, V *g) {
    V gon = p[0], goff = p[1], coil = x[2] - x[3], size = vsqrt(coil * coil + 1e-4);
    V worked = sigmoid(p[3] * (size - p[2])), across = x[0] - x[1];
    V made = goff + (gon - goff) * (p[4] + p[5] * worked);
    i[0] = made * across, i[1] = -i[0];
    g[0] = made, g[1] = -made;
    g[2] = live * (gon - goff) * p[5] * p[3] * worked * (1.0 - worked) * coil / size * across, g[3] = -g[2];
    for (int f = 0; f < 4; f++) g[4 + f] = -g[f];
}

/* x while it is small, hardly above 1 however large, and its slope */
INLINE V at_most_one(V x, V *slope) {
    V fourth = 1.0 + x * x * x * x, root = vsqrt(vsqrt(fourth));
    *slope = 1.0 / (fourth * root);
    return x / root;
}

INLINE void stage_trouble(const Group *group, const V *x, const V *p, V *i, V *g) {
    int count = group->terminals;
    V most = p[5], total = splat(0.0), slope, sum = splat(1.0);
    g[0] = sum;
    for (int k = 0; k < group->inputs; k++) {
        const V *own = p + 7 + 5 * k, *at = x + 2 + 2 * k;
        V off = (at[1] - x[1] - own[2]) / own[3], out = sigmoid(6.0 * (off * off - 1.0));
        total += own[0] * (at[0] - x[1]) + own[1] * out;
        g[2 + 2 * k] = own[0];
        g[3 + 2 * k] = own[1] * out * (1.0 - out) * 12.0 * off / own[3];
    }
    V passed = most * at_most_one(total / most, &slope), through = (1.0 - p[0]) * (1.0 - p[1]);
    V stuck = p[0] * (1.0 - p[3]) + p[1] * (1.0 - p[4]);
    i[0] = x[0] - x[1] - stuck - through * (p[2] + 0.999 * passed), i[1] = -i[0];
    for (int f = 2; f < count; f++) {
        g[f] *= -0.999 * through * slope;
        sum += g[f];
    }
    g[1] = -sum;
    for (int f = 0; f < count; f++) g[count + f] = -g[f];
}

INLINE void stage_drive(const V *x, const V *p, V *i, V *g) {
    V trouble = (x[2] - x[1]) / 0.1, square = trouble * trouble, over = 1.0 / (1.0 + square);
    V step = p[2] + p[3] * p[4] - p[1];
    i[0] = p[0] * (x[0] - x[1] - p[1] - square * over * step), i[1] = -i[0];
    g[0] = p[0], g[2] = -p[0] * 2.0 * trouble * over * over / 0.1 * step, g[1] = -g[0] - g[2];
    for (int f = 0; f < 3; f++) g[3 + f] = -g[f];
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
    V y = x[0] - x[2], vs = x[1] - x[2], middle = p[0] + p[18] * (0.5 - p[7]);
    V threshold = middle * (1.0 - p[1] + p[1] * vs);
    for (int k = 0; k < n; k++) {
        V level = sigmoid(p[2] * (x[3 + k] - x[2] - threshold)), w = p[20 + 2 * k];
        value[k] = p[19 + 2 * k] + w * level;
        dx[k] = live * w * p[2] * level * (1.0 - level);
    }
    value[n] = p[7], value[n + 1] = splat(0.0), value[n + 2] = splat(1.0);
    V h = p[3] + p[4] * logic(group->level, n, value, dh), en = p[5] + p[6];
    V sharper = splat(0.0);
    if (group->enable[0] >= 0) {
        V on = logic(group->enable, n, value, den), square = on * on, off = 1.0 - on;
        V share = 1.0 / (square + off * off);
        en = p[5] + p[6] * square * share, sharper = 2.0 * on * off * share * share;
    }
    V wake_slope, wake = awake(vs, &wake_slope), power = sigmoid(4.0 * (vs - p[16])), leak = p[17];
    V power_s = power * (4.0 * (1.0 - power) * wake + wake_slope);
    power *= wake;
    V down_on = power * en * (1.0 - h), up_on = power * en * h;
    V low_by[MOST_INPUTS], up_by[MOST_INPUTS];
    I sinks = down_on != 0.0, gives = up_on != 0.0; /* most outputs do one of the two only */
    for (int k = 0; k < n; k++) {
        V by_h = p[4] * dh[k] * dx[k], by_en = splat(0.0);
        if (group->enable[0] >= 0) by_en = p[6] * sharper * den[k] * dx[k];
        low_by[k] = power * ((1.0 - h) * by_en - en * by_h);
        up_by[k] = power * (h * by_en + en * by_h);
        sinks |= low_by[k] != 0.0, gives |= up_by[k] != 0.0;
    }
    V low = splat(0.0), low_y = low, up = low, up_z = low;
    if (any(sinks)) low = p[8] * saturating(y - p[12], p[10], more[0], more[1], &low_y);
    if (group->high && any(gives)) {
        V head = vs - p[15] - y, ramp = head, ramp_slope = splat(1.0), first_slope;
        if (group->high != MOS) ramp = softplus(head, 0.03, &ramp_slope);
        up = saturating(ramp, p[13], more[2], more[3], &up_z);
        up_z *= ramp_slope;
        if (group->high == DARLINGTON) {
            V first = softplus(head + 0.755, 0.03, &first_slope);
            up += (first - ramp) * (1.0 / 4e3), up_z += (first_slope - ramp_slope) * (1.0 / 4e3);
        }
        up *= p[9];
    }
    V i_low = down_on * low, i_up = up_on * up;
    V up_s = up_on * p[9] * up_z;
    I fed = y > vs; /* from outside, through the resistor and junction of the upper half */
    if (group->high == DARLINGTON && any(fed)) {
        V back_y, back = softplus(y - vs - 0.65, 0.03, &back_y), share = pick(fed, p[9] * (1.0 / 4e3), splat(0.0));
        i_up -= share * back, up_s += share * back_y;
    }
    i[0] = i_low - i_up + leak * y, i[1] = i_up, i[2] = -i_low - leak * y;
    V low_0 = down_on * p[8] * low_y;
    V low_1 = power_s * en * (1.0 - h) * low, up_1 = up_s + power_s * en * h * up;
    V sums[3] = {splat(0.0), splat(0.0), splat(0.0)};
    for (int k = 0; k < n; k++) {
        V low_k = low_by[k] * low, up_k = up_by[k] * up;
        g[3 + k] = low_k - up_k, g[width + 3 + k] = up_k, g[2 * width + 3 + k] = -low_k;
        for (int e = 0; e < 3; e++) sums[e] += g[e * width + 3 + k];
    }
    g[0] = low_0 + up_s + leak, g[1] = low_1 - up_1;
    g[width] = -up_s, g[width + 1] = up_1;
    g[2 * width] = -low_0 - leak, g[2 * width + 1] = -low_1;
    for (int e = 0; e < 3; e++) {
        V *row = g + e * width;
        row[1] -= middle * p[1] * sums[e];
        row[2] = -row[0] - row[1] - sums[e];
    }
}

#endif
