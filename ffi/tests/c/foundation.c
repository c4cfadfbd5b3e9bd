/* Versions, statuses, details: what every other call stands on. */
#include "check.h"

int main(void)
{
    cpoise_detail detail;
    double result;
    char expected[32];
    int32_t status;
    int named = 0;

    CHECK(cpoise_version() == CPOISE_VERSION);
    CHECK(cpoise_abi_version() == CPOISE_ABI_VERSION);
    CHECK(strcmp(cpoise_version_text(), CPOISE_VERSION_TEXT) == 0);
    snprintf(expected, sizeof expected, "%d.%d.%d", CPOISE_VERSION_MAJOR, CPOISE_VERSION_MINOR, CPOISE_VERSION_PATCH);
    CHECK(strcmp(cpoise_version_text(), expected) == 0);

    /* Every status has its own text, every other number says that it is none. */
    CHECK(strcmp(cpoise_status_text(CPOISE_OK), "Done.") == 0);
    CHECK(strcmp(cpoise_status_text(CPOISE_QUANTITY_NOT_FINITE), "Not a number, or infinite.") == 0);
    for (status = -10; status < 3000; status++) {
        const char *text = cpoise_status_text(status);
        CHECK(text != NULL && text[0] != '\0');
        named += strcmp(text, cpoise_status_text(-1)) != 0;
    }
    CHECK(named > 150);
    CHECK(strcmp(cpoise_status_text(INT32_MIN), cpoise_status_text(-1)) == 0);

    /* A detail has the offending value; after a success it is empty; it may be left out. */
    fill(&detail, sizeof detail);
    fill(&result, sizeof result);
    STATUS(CPOISE_QUANTITY_NOT_POSITIVE, cpoise_radius_convert(-3.0, CPOISE_MILLIMETRE, CPOISE_INCH, &result, &detail));
    CHECK(untouched(&result, sizeof result));
    CHECK(detail.status == CPOISE_QUANTITY_NOT_POSITIVE);
    CHECK(strcmp(detail.text, "radius must be greater than zero, got -3.0 mm: give its size, without a sign") == 0);
    OK(cpoise_radius_convert(25.4, CPOISE_MILLIMETRE, CPOISE_INCH, &result, &detail));
    CHECK(result == 1.0);
    CHECK(detail.status == CPOISE_OK && detail.text[0] == '\0');
    STATUS(CPOISE_QUANTITY_NOT_POSITIVE, cpoise_radius_convert(0.0, CPOISE_MILLIMETRE, CPOISE_INCH, &result, NULL));
    CHECK(result == 1.0);

    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_radius_convert(1.0, 0, CPOISE_INCH, &result, &detail));
    CHECK(strcmp(detail.text, "unit of length 0 is not known: take one of the constants in the header") == 0);
    STATUS(CPOISE_NULL_POINTER, cpoise_radius_convert(1.0, CPOISE_INCH, CPOISE_INCH, NULL, &detail));
    CHECK(strcmp(detail.text, "result is NULL") == 0);
    {
        /* An address that no double can have. */
        uintptr_t address = (uintptr_t)&result + 1;
        STATUS(CPOISE_MISALIGNED, cpoise_radius_convert(1.0, CPOISE_INCH, CPOISE_INCH, (double *)address, &detail));
        CHECK(strcmp(detail.text, "result is not aligned to 8 bytes") == 0);
    }
    return done();
}
