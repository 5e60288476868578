/* What kernel.py fills in, and smooth building blocks that run on LANES numbers at once. */
#ifndef HALFSPLIT_KERNEL_H
#define HALFSPLIT_KERNEL_H

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#ifdef __AVX__
#include <immintrin.h>
#endif

#define REVISION 10

#define LN2 0.6931471805599453

#ifndef LANES
#define LANES 4
#endif
#ifndef ENTRY
#define ENTRY solve_plain
#endif

enum { CONDUCTANCE, SOURCE, DIODE, BIPOLAR, TTL_INPUT, LOGIC_OUTPUT, MOSFET, REGULATOR,
       PHOTOTRANSISTOR, COMPARATOR, AMPLIFIER, CONTACT, STAGE_TROUBLE, STAGE_DRIVE };
enum { OPEN, FOLLOWER, MOS, DARLINGTON }; /* what pulls a logic output up */
enum { MOST_INPUTS = 16, MOST_VALUES = 96, ENTRIES = 3 * (3 + MOST_INPUTS) + 25 };

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
    double vt, leak, tolerance, logic_tolerance, noise, stalled, short_step;
    int32_t patience, most_first, most_logic, most_full, most_soft, soften;
} Settings;

typedef struct {
    int64_t width;
    const double *const *params; /* of each group [P, M, B], then the same of each sample */
    const int64_t *strides;      /* [1 + samples, groups, 3], in numbers */
    const double *guess;         /* [N, B] or null */
    int64_t guess_row, guess_column;
    const int32_t *meter; /* [6, B]: red, black, slots of red-red, black-black, red-black, black-red */
    const double *meter_g, *meter_amps;
    double *v;         /* [N, B] */
    double *ohms;      /* [N, B] or null */
    uint8_t *resolved; /* [B] */
    int64_t *steps;    /* [B] iterations spent */
    int64_t samples;
    double *moved; /* [samples, N, B] change of v to first order when a sample's parameters hold */
} Batch;

typedef double V __attribute__((vector_size(8 * LANES)));
typedef int64_t I __attribute__((vector_size(8 * LANES)));

#define INLINE static inline __attribute__((always_inline))

INLINE V splat(double x) { return (V){0} + x; }
/* not-a-number in a comes through larger and smaller; lanes of a mask are all ones or nought */
#if defined(__AVX__) && LANES == 4
INLINE V pick(I mask, V yes, V no) {
    return (V)_mm256_blendv_pd((__m256d)no, (__m256d)yes, (__m256d)mask);
}
INLINE V larger(V a, V b) { return (V)_mm256_max_pd((__m256d)b, (__m256d)a); }
INLINE V smaller(V a, V b) { return (V)_mm256_min_pd((__m256d)b, (__m256d)a); }
#else
INLINE V pick(I mask, V yes, V no) { return (V)((mask & (I)yes) | (~mask & (I)no)); }
INLINE V larger(V a, V b) { return pick(b > a, b, a); }
INLINE V smaller(V a, V b) { return pick(b < a, b, a); }
#endif
INLINE V size_of(V a) { return (V)((I)a & INT64_MAX); }
INLINE int any(I mask) {
#if defined(__AVX__) && LANES == 4
    return _mm256_movemask_pd((__m256d)mask);
#else
    int64_t found = 0;
    for (int l = 0; l < LANES; l++) found |= mask[l];
    return found != 0;
#endif
}
INLINE V vsqrt(V x) {
    for (int l = 0; l < LANES; l++) x[l] = sqrt(x[l]);
    return x;
}
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

/* scale ln(1 + exp(x / scale)); straight where rounding hides the bend */
INLINE V softplus(V x, double scale, V *slope) {
    V z = x * (1.0 / scale), straight = larger(x, splat(0.0));
    I bent = size_of(z) < 40.0;
    *slope = pick(z >= 0.0, splat(1.0), splat(0.0));
    if (!any(bent)) return straight;
    V u = vexp(-size_of(z)), r = 1.0 / (1.0 + u);
    *slope = pick(bent, pick(z >= 0.0, r, u * r), *slope);
    return pick(bent, scale * (larger(z, splat(0.0)) + vlog1p(u)), straight);
}

/* exp, straight above 80; nought below -60, where most junctions are most of the time */
INLINE V limited_exp(V x, V *slope) {
    V value = splat(0.0);
    *slope = value;
    I near = x > -60.0;
    if (!any(near)) return value;
    V low = smaller(x, splat(80.0));
    *slope = pick(near, vexp(low), value);
    return *slope * (1.0 + (x - low));
}

/* limit tanh(x / (limit ohms)) + 1 mS x, given 1 / (limit ohms) and 1 / ohms */
INLINE V saturating(V x, V limit, V inverse, V siemens, V *slope) {
    V t = vtanh(x * inverse);
    *slope = (1.0 - t * t) * siemens + 1e-3;
    return limit * t + 1e-3 * x;
}

INLINE V limit_junction(V fresh, V old, V vt, V critical) {
    I falling = (fresh < old) & (fresh > old - vt) & (old > 0.5 * critical);
    I rising = (fresh > old) & (fresh > critical);
    if (!any(falling | rising)) return fresh;
    V promised = old + vt * vlog1p(larger((fresh - old) / vt, splat(-1.0 + 1e-12)));
    V upward = pick(old >= critical, promised, critical);
    return pick(rising, upward, pick(falling, promised, fresh));
}

INLINE V critical_of(V vt, V is) {
    return vt * vlog1p(vt / (1.4142135623730951 * larger(is, splat(1e-30))) - 1.0);
}

#endif
