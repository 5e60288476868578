/* Cases on their way into the lanes and out: parameters, linear elements, guesses, results. */
#ifndef HALFSPLIT_KERNEL_CASES_H
#define HALFSPLIT_KERNEL_CASES_H

#include "kernel_lu.h"
#include "kernel_work.h"

static const double *source(const Batch *b, const Circuit *c, int sample, int k, int q, int m, int64_t *step) {
    const int64_t *stride = b->strides + 3 * (k + sample * c->groups);
    *step = stride[2];
    return b->params[k + sample * c->groups] + q * stride[0] + m * stride[1];
}

/* The base value of every parameter: what two of three cases of the batch have. */
static void usual(Work *w, const Batch *b) {
    const Circuit *c = w->circuit;
    double *value = w->usual;
    V *p = w->par;
    int64_t far = b->width - 1, step;
    for (int k = 0; k < c->groups; k++) {
        const Group *group = c->group + k;
        for (int m = 0; m < group->members; m++, p += group->parameters + SPARE) {
            for (int q = 0; q < group->parameters; q++, value++) {
                const double *from = source(b, c, 0, k, q, m, &step);
                double middle = from[far / 2 * step], end = from[far * step];
                *value = middle == end ? middle : from[0];
                p[q] = splat(*value);
            }
            if (group->kind > SOURCE) prepare(group, w->settings, p);
        }
    }
}

/* Find what is changed in the columns of the block from first on; 0, or 1 without memory. */
static int look(Work *w, const Batch *b, int64_t first, int64_t end) {
    const Circuit *c = w->circuit;
    int64_t width = end - first < BLOCK ? end - first : BLOCK, step, r = 0;
    w->block = first, w->changes = 0;
    for (int l = 0; l < BLOCK; l++) w->head[l] = -1;
    for (int k = 0; k < c->groups; k++) {
        const Group *group = c->group + k;
        for (int m = 0; m < group->members; m++)
            for (int q = 0; q < group->parameters; q++, r++) {
                const double *from = source(b, c, 0, k, q, m, &step) + first * step;
                double base = w->usual[r];
                if (step == 0) {
                    if (from[0] == base) continue;
                } else if (step == 1) {
                    I differs = {0};
                    int64_t n = 0;
                    for (; n + LANES <= width; n += LANES) {
                        V values;
                        memcpy(&values, from + n, sizeof values);
                        differs |= values != base;
                    }
                    int64_t more = 0;
                    for (; n < width; n++) more |= from[n] != base;
                    if (!more && !any(differs)) continue;
                }
                if (w->room - w->changes < BLOCK) {
                    int64_t room = 2 * w->room + 64 * BLOCK;
                    Change *larger = realloc(w->change, (size_t)room * sizeof(Change));
                    if (!larger) return 1;
                    w->change = larger, w->room = room;
                }
                for (int64_t n = 0; n < width; n++)
                    if (from[n * step] != base) {
                        w->change[w->changes] = (Change){w->head[n], (int32_t)r, from[n * step]};
                        w->head[n] = (int32_t)w->changes++;
                    }
            }
    }
    return 0;
}

static int set(Work *w, int lane, int32_t row, double value) {
    const Row *at = w->row + row;
    ((double *)(w->par + at->place))[lane] = value;
    return w->circuit->group[at->group].kind <= SOURCE;
}

/* The derived parameters of every device with a row among those applied in a lane. */
static void derive(Work *w, int lane) {
    const int32_t *applied = w->applied[lane];
    for (int32_t n = 0; n < w->count[lane]; n++) {
        int32_t row = applied[n], device = w->row[row].device;
        const Group *group = w->circuit->group + w->row[row].group;
        if (group->kind <= SOURCE || (n && w->row[applied[n - 1]].device == device)) continue;
        while (row > 0 && w->row[row - 1].device == device) row--;
        prepare(group, w->settings, w->par + w->row[row].place);
    }
}

/* Put the parameters of a column of the block into a lane; whether a linear element changed (those
 * are loaded). */
static int change(Work *w, int lane, int64_t column) {
    int linear = 0;
    int32_t *applied = w->applied[lane];
    for (int32_t n = 0; n < w->count[lane]; n++) linear |= set(w, lane, applied[n], w->usual[applied[n]]);
    derive(w, lane);
    w->count[lane] = 0;
    for (int32_t n = w->head[column - w->block]; n >= 0; n = w->change[n].next) {
        applied[w->count[lane]++] = w->change[n].row;
        linear |= set(w, lane, w->change[n].row, w->change[n].value);
    }
    derive(w, lane);
    return linear;
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

/* A parameter of cases column[]. */
INLINE V gather(const Batch *b, const Circuit *c, int k, int q, int m, const int64_t *column) {
    int64_t step;
    const double *from = source(b, c, 0, k, q, m, &step);
    V values;
    for (int l = 0; l < LANES; l++) values[l] = from[column[l] * step];
    return values;
}

/* Linear elements and static elimination of the cases from first on, one in each lane. */
static void load(Work *w, const Batch *b, int64_t first, int64_t end) {
    const Circuit *c = w->circuit;
    V *a = w->ahead, *rhs = a + c->slots + 1;
    int64_t column[LANES];
    for (int l = 0; l < LANES; l++) column[l] = first + l < end ? first + l : end - 1;
    w->loaded = first;
    memset(a, 0, (size_t)(c->slots + 1 + c->size + 1) * sizeof(V));
    for (int n = 0; n < c->size; n++) a[c->diagonal[n]] = splat(w->settings->leak);
    for (int k = 0; k < c->groups; k++) {
        const Group *group = c->group + k;
        for (int m = 0; group->kind <= SOURCE && m < group->members; m++) {
            const int32_t *nodes = group->nodes + 2 * m, *slots = group->slots + 4 * m;
            V g = gather(b, c, k, 0, m, column);
            a[slots[0]] += g, a[slots[1]] -= g, a[slots[2]] -= g, a[slots[3]] += g;
            if (group->kind == CONDUCTANCE) continue;
            g *= gather(b, c, k, 1, m, column);
            rhs[nodes[0]] += g, rhs[nodes[1]] -= g;
        }
    }
    for (int l = 0; b->meter && l < LANES; l++) {
        const int32_t *meter = b->meter + column[l];
        double g = b->meter_g[column[l]], amps = b->meter_amps[column[l]];
        for (int k = 0; k < 6; k++) {
            int32_t at = meter[k * b->width];
            if (k < 2) rhs[at][l] += k ? -amps : amps;
            else a[at][l] += k < 4 ? g : -g;
        }
    }
    factor(c, a, rhs, 0, c->static_pivots);
}

/* A lane takes over what was loaded for a column. */
static void take(Work *w, const Batch *b, int lane, int64_t column, int64_t end) {
    const Circuit *c = w->circuit;
    if (column < w->loaded || column >= w->loaded + LANES) load(w, b, column, end);
    const double *a = (const double *)w->ahead + (column - w->loaded), *rhs = a + (c->slots + 1) * LANES;
    double *own = (double *)w->a + lane, *base = (double *)w->base + lane, *push = (double *)w->push + lane;
    for (int n = 0; n < c->static_slots; n++) own[n * LANES] = a[n * LANES];
    for (int n = c->static_slots; n <= c->slots; n++) base[n * LANES] = a[n * LANES];
    for (int n = 0; n <= c->size; n++) push[n * LANES] = rhs[n * LANES];
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

#endif
