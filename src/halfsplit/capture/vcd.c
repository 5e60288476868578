/* Value changes of a VCD body (IEEE 1364-2005, 18.2), one block at a time; see formats/_vcd_body.py,
   which does the same in numpy and says what the arrays mean. */
#include <stdint.h>
#include <string.h>

enum { DONE, FULL, BAD_TOKEN, BAD_TIME, BACKWARDS, UNKNOWN_ID, WRONG_KIND, NO_ID, BAD_VALUE };
enum { BITS, REAL, TEXT };
#define NONE 255
#define MOST_TICKS (INT64_C(1) << 62)

typedef struct {
    const uint8_t *blob;          /* all id codes, one after the other */
    const int32_t *offset, *length, *slot, *width;
    const uint8_t *kind;
    const int32_t *single;        /* code of one letter -> number of the variable, or -1 */
    const int32_t *table;         /* hash -> the same, for any code */
    int64_t mask;
} Names;

typedef struct {
    int32_t *slot;
    int64_t *tick;
    uint8_t *value;
    int64_t size, room;
    int32_t *real_slot;
    int64_t *real_tick, *real_from, *real_to;
    int64_t reals, real_room;
    int64_t first, now, at;       /* at: byte of the token that stopped the work */
} Changes;

static uint8_t value_of[256];

static void fill_values(void) {
    if (value_of['0'] == 0 && value_of['1'] == 1)
        return;
    memset(value_of, NONE, sizeof value_of);
    for (const char *p = "xXuUwW-"; *p; p++) value_of[(uint8_t)*p] = 2;
    value_of['z'] = value_of['Z'] = 3;
    value_of['0'] = value_of['l'] = value_of['L'] = 0;
    value_of['h'] = value_of['H'] = 1;
    value_of['1'] = 1;
}

static inline int32_t find(const Names *n, const uint8_t *p, int64_t length, uint32_t hash) {
    for (int64_t at = hash & n->mask;; at = (at + 1) & n->mask) {
        int32_t found = n->table[at];
        if (found < 0)
            return -1;
        if (n->length[found] == length) {
            const uint8_t *own = n->blob + n->offset[found];
            int64_t k = 0;
            while (k < length && own[k] == p[k]) k++;
            if (k == length)
                return found;
        }
    }
}

/* The token at p is an id code: its end, and the variable or -1. */
static inline const uint8_t *id_code(
    const Names *n, const uint8_t *p, const uint8_t *end, int32_t *found
) {
    const uint8_t *start = p;
    uint32_t hash = 0;
    if (p + 1 < end && *p > 32 && p[1] <= 32) {
        *found = n->single[*p];
        return p + 1;
    }
    while (p < end && *p > 32) hash = hash * 31 + *p++;
    *found = p > start ? find(n, start, p - start, hash) : -1;
    return p;
}

static int put(Changes *c, const Names *n, int32_t var, const uint8_t *from, const uint8_t *to) {
    int32_t width = n->width[var], slot = n->slot[var];
    if (c->size + width > c->room)
        return FULL;
    uint8_t fill = value_of[*from];
    if (fill == 1)
        fill = 0;
    for (const uint8_t *p = from; p < to; p++)
        if (value_of[*p] == NONE)
            return BAD_VALUE;
    for (int32_t bit = 0; bit < width; bit++, c->size++) {
        c->slot[c->size] = slot + bit;
        c->tick[c->size] = c->now;
        c->value[c->size] = to - 1 - bit >= from ? value_of[to[-1 - bit]] : fill;
    }
    return DONE;
}

/* Eight digits at once, the first in the lowest byte; -1 when they are not all digits. */
static inline int64_t eight_digits(const uint8_t *p) {
#if __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__
    uint64_t v;
    memcpy(&v, p, 8);
    v ^= UINT64_C(0x3030303030303030);
    if ((v | (v + UINT64_C(0x0606060606060606))) & UINT64_C(0xF0F0F0F0F0F0F0F0))
        return -1;
    v = (v * 2561 >> 8) & UINT64_C(0x00FF00FF00FF00FF);
    v = (v * 6553601 >> 16) & UINT64_C(0x0000FFFF0000FFFF);
    return (int64_t)(v * UINT64_C(42949672960001) >> 32);
#else
    (void)p;
    return -1;
#endif
}

static const uint8_t *skip_blank(const uint8_t *p, const uint8_t *end) {
    while (p < end && *p <= 32) p++;
    return p;
}

static const uint8_t *token_end(const uint8_t *p, const uint8_t *end) {
    while (p < end && *p > 32) p++;
    return p;
}

static int is(const uint8_t *p, const uint8_t *to, const char *word) {
    return (size_t)(to - p) == strlen(word) && !memcmp(p, word, to - p);
}

static const uint8_t *keyword(const uint8_t *p, const uint8_t *end, int *problem) {
    static const char *const known[] = {"$end", "$dumpvars", "$dumpall", "$dumpon", "$dumpoff"};
    const uint8_t *to = token_end(p, end);
    for (size_t k = 0; k < sizeof known / sizeof *known; k++)
        if (is(p, to, known[k]))
            return to;
    *problem = BAD_TOKEN;
    if (!is(p, to, "$comment"))
        return p;
    while (to < end) {
        const uint8_t *word = skip_blank(to, end);
        to = token_end(word, end);
        if (is(word, to, "$end")) {
            *problem = DONE;
            return to;
        }
    }
    return p;
}

/* Parse a whole block; what stopped it, DONE at its end. */
int32_t halfsplit_vcd_parse(const uint8_t *text, int64_t size, const Names *n, Changes *c) {
    const uint8_t *p = text, *end = text + size;
    int problem = DONE;
    fill_values();
    for (;;) {
        p = skip_blank(p, end);
        if (p == end)
            return DONE;
        const uint8_t *token = p;
        int32_t var;
        uint8_t lead = *p;
        if (lead == '#') {
            uint64_t t = 0;
            const uint8_t *digits = ++p;
            int64_t eight = end - p >= 8 ? eight_digits(p) : -1;
            if (eight >= 0) {
                t = (uint64_t)eight;
                p += 8;
            }
            for (; p < end && (uint8_t)(*p - '0') < 10; p++) t = t * 10 + (*p - '0');
            if (p == digits || (p < end && *p > 32) || p - digits > 19 || t >= MOST_TICKS)
                problem = BAD_TIME;
            else if ((int64_t)t < c->now)
                problem = BACKWARDS;
            else {
                c->now = (int64_t)t;
                if (c->first < 0)
                    c->first = c->now;
            }
        } else if (value_of[lead] != NONE) {
            p = id_code(n, p + 1, end, &var);
            if (var < 0)
                problem = p == token + 1 ? NO_ID : UNKNOWN_ID;
            else if (n->kind[var] != BITS)
                problem = WRONG_KIND;
            else
                problem = put(c, n, var, token, token + 1);
        } else if (strchr("bBrRsS", lead) && lead) {
            const uint8_t *to = token_end(p, end);
            const uint8_t *id = skip_blank(to, end);
            int kind = lead == 'b' || lead == 'B' ? BITS : lead == 'r' || lead == 'R' ? REAL : TEXT;
            p = id_code(n, id, end, &var);
            if (p == id)
                problem = NO_ID;
            else if (var < 0)
                problem = UNKNOWN_ID;
            else if (n->kind[var] != kind)
                problem = WRONG_KIND;
            else if (kind != TEXT && to == token + 1)
                problem = BAD_VALUE;
            else if (kind == BITS)
                problem = put(c, n, var, token + 1, to);
            else if (kind == REAL && c->reals == c->real_room)
                problem = FULL;
            else if (kind == REAL) {
                c->real_slot[c->reals] = n->slot[var];
                c->real_tick[c->reals] = c->now;
                c->real_from[c->reals] = token + 1 - text;
                c->real_to[c->reals++] = to - text;
            }
        } else if (lead == '$')
            p = keyword(p, end, &problem);
        else
            problem = BAD_TOKEN;
        if (problem) {
            c->at = token - text;
            return problem;
        }
    }
}

/* Sort changes by slot, in order of time: starts [S+1], counts [S]; drops what is no change. */
void halfsplit_vcd_group(
    int64_t size, const int32_t *slot, const int64_t *tick, const uint8_t *value, int64_t slots,
    const uint8_t *every, uint8_t *last, int64_t *starts, int64_t *counts,
    int64_t *out_tick, uint8_t *out_value
) {
    memset(starts, 0, (slots + 1) * sizeof *starts);
    memset(counts, 0, slots * sizeof *counts);
    for (int64_t k = 0; k < size; k++) starts[slot[k] + 1]++;
    for (int64_t s = 0; s < slots; s++) starts[s + 1] += starts[s];
    for (int64_t k = 0; k < size; k++) {
        int32_t s = slot[k];
        int64_t at = starts[s] + counts[s];
        if (!every[s]) {
            if (counts[s] && out_tick[at - 1] == tick[k])
                at--;
            uint8_t before = at > starts[s] ? out_value[at - 1] : last[s];
            if (before == value[k]) {
                counts[s] = at - starts[s];
                continue;
            }
        }
        out_tick[at] = tick[k];
        out_value[at] = value[k];
        counts[s] = at + 1 - starts[s];
    }
    for (int64_t s = 0; s < slots; s++)
        if (counts[s])
            last[s] = out_value[starts[s] + counts[s] - 1];
}

int64_t halfsplit_readers_revision(void) { return 3; }
