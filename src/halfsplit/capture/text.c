/* Rows of numbers in delimited text, one block of whole lines at a time; see formats/_text_rows.py,
   which does the same in numpy and Python. */
#include <math.h>
#include <stdint.h>
#include <string.h>

static const double tens[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                              1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

static int word(const uint8_t *p, int64_t size, double *value) {
    static const struct {
        const char *name;
        int value;
    } known[] = {{"high", 1}, {"low", 0}, {"true", 1}, {"false", 0}, {"h", 1}, {"l", 0}, {"on", 1},
                 {"off", 0},  {"x", 2},   {"nan", 2},  {"-", 2},     {"--", 2}, {"---", 2}, {"z", 3},
                 {"inf", 3},  {"+inf", 3}, {"-inf", 4}};
    for (size_t k = 0; k < sizeof known / sizeof *known; k++) {
        int64_t n = 0;
        while (n < size && known[k].name[n] && (p[n] | (p[n] >= 'A' && p[n] <= 'Z' ? 32 : 0)) ==
                                                   (uint8_t)known[k].name[n])
            n++;
        if (n == size && !known[k].name[n]) {
            static const double values[] = {0.0, 1.0, NAN, INFINITY, -INFINITY};
            *value = values[known[k].value];
            return 1;
        }
    }
    return 0;
}

/* The number that begins at p, of any length and with an exponent: where it ends, or p when there is none. */
static const uint8_t *long_number(const uint8_t *p, const uint8_t *end, uint8_t point, double *value) {
    const uint8_t *start = p;
    int negative = p < end && *p == '-', digits = 0, shift = 0, exponent = 0;
    uint64_t mantissa = 0;
    if (p < end && (*p == '-' || *p == '+')) p++;
    for (int after = 0; p < end; p++) {
        unsigned digit = *p - '0';
        if (digit < 10) {
            digits++;
            if (mantissa < UINT64_C(1000000000000000000)) {
                mantissa = mantissa * 10 + digit;
                shift -= after;
            } else
                shift += !after;
        } else if (*p == point && !after)
            after = 1;
        else
            break;
    }
    if (!digits)
        return start;
    if (p < end && (*p | 32) == 'e') {
        const uint8_t *e = p + 1;
        int minus = e < end && *e == '-', size = 0;
        if (e < end && (*e == '-' || *e == '+')) e++;
        for (; e < end && (uint8_t)(*e - '0') < 10; e++, size++)
            if (exponent < 10000) exponent = exponent * 10 + (*e - '0');
        if (!size)
            return start;
        exponent = minus ? -exponent : exponent;
        p = e;
    }
    int power = exponent + shift;
    double v;
    if (mantissa < (UINT64_C(1) << 53) && power >= -22 && power <= 22)
        v = power < 0 ? (double)mantissa / tens[-power] : (double)mantissa * tens[power];
    else
        v = (double)((long double)mantissa * powl(10.0L, power));
    *value = negative ? -v : v;
    return p;
}

/* The number that begins at p: where it ends, or p when there is none. What follows `end` is no digit, and can
   be read. */
static inline const uint8_t *number(
    const uint8_t *p, const uint8_t *end, uint8_t point, double *value
) {
    const uint8_t *first = p + (*p == '-'), *q = first;
    uint64_t mantissa = 0;
    unsigned digit;
    int64_t after = 0;
    for (; (digit = *q - (unsigned)'0') < 10; q++) mantissa = mantissa * 10 + digit;
    if (*q == point) {
        const uint8_t *mark = q++;
        for (; (digit = *q - (unsigned)'0') < 10; q++) mantissa = mantissa * 10 + digit;
        after = q - mark - 1;
        first++;
    }
    if (q > end || q - first < 1 || q - first > 15 || (*q | 32) == 'e')
        return long_number(p, end, point, value);
    double v = (double)mantissa / tens[after];
    *value = *p == '-' ? -v : v;
    return q;
}

static int blank(uint8_t c) { return c == ' ' || c == '\t' || c == '\r'; }

/* Any other field: a number in quotes or between blanks, a word, or nothing; 0 when it is none. */
static int field(const uint8_t *a, const uint8_t *b, uint8_t point, double *value) {
    while (a < b && blank(*a)) a++;
    while (b > a && blank(b[-1])) b--;
    if (b - a > 1 && (*a == '"' || *a == '\'') && b[-1] == *a) a++, b--;
    if (a == b) {
        *value = NAN;
        return 1;
    }
    return number(a, b, point, value) == b || word(a, b - a, value);
}

/* Fill out [columns, room], a column after the other; `at` is the byte of the line that could not be read, or
   size. A blank delimiter stands for any run of blanks; lines of nothing, or that begin with
   the sign `comment`, are passed over; `want` [columns] says which fields are read. */
int64_t halfsplit_text_parse(
    const uint8_t *text, int64_t size, int32_t delimiter, int32_t point, int32_t comment,
    int64_t columns, const uint8_t *want, double *out, int64_t room, int64_t *at
) {
    const uint8_t *p = text, *end = text + size;
    int runs = delimiter == ' ';
    int64_t rows = 0;
    while (p < end) {
        const uint8_t *line = p, *stop = memchr(p, '\n', end - p);
        if (!stop) stop = end;
        p = stop < end ? stop + 1 : end;
        const uint8_t *f = line, *last = stop;
        while (f < last && blank(*f)) f++;
        while (last > f && (last[-1] == '\r' || (last[-1] == ' ') || (runs && last[-1] == '\t'))) last--;
        *at = line - text;
        if (f == last || *f == comment)
            continue;
        if (!runs)
            f = line;
        if (rows == room)
            return rows;
        int64_t k = 0;
        for (;; k++) {
            if (k >= columns) {
                if (f == last && k == columns) break;
                return rows;
            }
            double *value = out + k * room + rows;
            const uint8_t *to = number(f, last, (uint8_t)point, value);
            int whole = to > f && (to == last || (runs ? blank(*to) : *to == delimiter));
            if (!whole) {
                for (to = f; to < last && (runs ? !blank(*to) : *to != delimiter);) to++;
                if (want[k] && !field(f, to, (uint8_t)point, value))
                    return rows;
            }
            if (!want[k])
                *value = NAN;
            if (to == last) {
                k++;
                break;
            }
            f = to + 1;
            if (runs)
                while (f < last && blank(*f)) f++;
        }
        if (k < columns)
            return rows;
        rows++;
    }
    *at = size;
    return rows;
}
