/* The numeric side of pattern.py: elimination.py said again for LANES cases at once. */
#ifndef HALFSPLIT_KERNEL_LU_H
#define HALFSPLIT_KERNEL_LU_H

#include "kernel.h"

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

#endif
