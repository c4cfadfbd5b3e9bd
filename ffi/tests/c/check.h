/* What every test here uses: checks that are counted, and numbers that are compared bit for bit with those of Rust. */
#ifndef CHECK_H
#define CHECK_H

#include "counterpoise.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int checks_done;

#define CHECK(condition)                                                          \
    do {                                                                          \
        checks_done++;                                                            \
        if (!(condition)) {                                                       \
            fprintf(stderr, "%s:%d: not so: %s\n", __FILE__, __LINE__, #condition); \
            exit(1);                                                              \
        }                                                                         \
    } while (0)

/* A call returns what it should. */
#define STATUS(wanted, call)                                                                       \
    do {                                                                                           \
        cpoise_status status_of_call = (call);                                                     \
        checks_done++;                                                                             \
        if (status_of_call != (wanted)) {                                                          \
            fprintf(stderr, "%s:%d: %s returned %d (%s), wanted %d\n", __FILE__, __LINE__, #call,  \
                    (int)status_of_call, cpoise_status_text(status_of_call), (int)(wanted));       \
            exit(1);                                                                               \
        }                                                                                          \
    } while (0)

#define OK(call) STATUS(CPOISE_OK, call)

/* Numbers for the comparison with Rust: a line each, name and bits. */
static inline void tell(const char *name, double value)
{
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    printf("%s %016" PRIx64 "\n", name, bits);
}

/* An output that must not have been written is filled with this before, and looked at after. */
#define UNTOUCHED 0x5a

static inline void fill(void *output, size_t size)
{
    memset(output, UNTOUCHED, size);
}

static inline int untouched(const void *output, size_t size)
{
    const unsigned char *bytes = (const unsigned char *)output;
    size_t i;
    for (i = 0; i < size; i++) {
        if (bytes[i] != UNTOUCHED) {
            return 0;
        }
    }
    return 1;
}

static inline int done(void)
{
    fprintf(stderr, "%d checks\n", checks_done);
    return checks_done > 0 ? 0 : 1;
}

static inline double not_a_number(void)
{
    double zero = 0.0;
    return zero / zero;
}

static inline double infinite(void)
{
    double zero = 0.0;
    return 1.0 / zero;
}

#endif
