/* A record that C and Rust make of the same arithmetic: tach channel, marks, extraction in one piece and streamed. */
#include "check.h"

#define COUNT 2000

static double samples[COUNT], tach[COUNT];
static float floats[COUNT];
static int32_t counts[COUNT];
static int32_t printed;
static cpoise_channel channel;
static cpoise_sensor_chain chain = CPOISE_SENSOR_CHAIN_INIT;
static const cpoise_response_point points[2] = {{10.0, 0.8, 30.0}, {30.0, 0.96, 14.0}};
/* As for a firmware: memory that is there from the start. */
static uint64_t memory[4096];

static void tell_next(const char *name, double value)
{
    char line[48];
    snprintf(line, sizeof line, "%s %d", name, (int)printed++);
    tell(line, value);
}

static void tell_vector(const char *name, const cpoise_synchronous_vector *vector)
{
    size_t i;
    printed = 0;
    CHECK(vector->order_count == 2 && vector->has_scatter == 1 && vector->has_reading == 1);
    for (i = 0; i < 2; i++) {
        tell_next(name, vector->vectors[i].re);
        tell_next(name, vector->vectors[i].im);
    }
    tell_next(name, vector->scatter.re_re);
    tell_next(name, vector->scatter.re_im);
    tell_next(name, vector->scatter.degrees_of_freedom);
    tell_next(name, vector->mean);
    tell_next(name, vector->drift_per_second);
    tell_next(name, vector->residual_rms);
    tell_next(name, vector->mean_rpm);
    tell_next(name, vector->turns);
    tell_next(name, vector->chance_of_trend);
    tell_next(name, vector->reading.vibration.re);
    tell_next(name, vector->reading.vibration.im);
}

static void record(void)
{
    int32_t i;
    for (i = 0; i < COUNT; i++) {
        double turned = (double)(i % 50) / 50.0;
        double twice = (double)(i % 25) / 25.0;
        double noise = (double)((i * 7919) % 101) / 1000.0;
        samples[i] = turned * (1.0 - turned) + 0.25 * (twice * (1.0 - twice)) + noise;
        tach[i] = i % 50 < 5 ? 4.0 : 0.5;
        counts[i] = (int32_t)(samples[i] * 1024.0);
        floats[i] = (float)counts[i] / 1024.0f;
    }
}

int main(void)
{
    const cpoise_vibration_unit unit = {CPOISE_SCALE_INCH_PER_SECOND, CPOISE_PEAK};
    const double orders[2] = {1.0, 2.0}, bad_orders[2] = {2.0, 1.0};
    cpoise_extraction extraction = CPOISE_EXTRACTION_INIT;
    cpoise_synchronous_vector vector, no_vector;
    cpoise_tach_reader reader, no_reader;
    cpoise_pulse_gate gate;
    cpoise_stream *stream = NULL;
    cpoise_mark marks[64], mark;
    double low, high, pulses[64], seconds, lowest;
    size_t pulse_count = 0, mark_count, bytes, i;
    int32_t found, taken;
    cpoise_detail detail;

    record();
    OK(cpoise_channel_make(1, &unit, CPOISE_PHASE_LAG, 1200.0, 1.0, &channel, NULL));
    chain.scale = CPOISE_SCALE_STANDARD_GRAVITY;
    chain.polarity = CPOISE_POLARITY_AGAINST;
    chain.per_unit = 0.5;
    chain.delay_seconds = 0.0003;
    chain.response = points;
    chain.response_count = 2;
    extraction.rate_hertz = 1000.0;
    extraction.orders = orders;
    extraction.order_count = 2;

    OK(cpoise_tach_levels_found(tach, COUNT, &low, &high, NULL));
    OK(cpoise_tach_reader_make(low, high, CPOISE_EDGE_RISING, 1000.0, &reader, NULL));
    for (i = 0; i < COUNT; i++) {
        OK(cpoise_tach_reader_sample(&reader, tach[i], &found, &seconds, NULL));
        if (found) {
            pulses[pulse_count++] = seconds;
        }
    }
    OK(cpoise_pulses_to_marks(pulses, pulse_count, 1, 0, 1, 1, marks, 64, &mark_count, NULL));
    printed = 0;
    for (i = 0; i < mark_count; i++) {
        tell_next("marks", marks[i].seconds);
        tell_next("marks", marks[i].turns);
    }
    OK(cpoise_extract_double(samples, COUNT, marks, mark_count, &extraction, &chain, &channel, &vector, NULL));
    tell_vector("piece", &vector);
    OK(cpoise_extract_float(floats, COUNT, marks, mark_count, &extraction, &chain, &channel, &vector, NULL));
    tell_vector("float", &vector);
    OK(cpoise_extract_counts(counts, COUNT, marks, mark_count, &extraction, &chain, &channel, &vector, NULL));
    tell_vector("counts", &vector);

    OK(cpoise_stream_size(2, 1024, &bytes, NULL));
    CHECK(bytes > 8192 && bytes <= sizeof memory);
    OK(cpoise_stream_make(&extraction, 1024, memory, bytes, &stream, NULL));
    OK(cpoise_tach_reader_make(low, high, CPOISE_EDGE_RISING, 1000.0, &reader, NULL));
    OK(cpoise_pulse_gate_make(1, 1080.0, 1200.0, 1320.0, &gate, NULL));
    for (i = 0; i < COUNT; i++) {
        OK(cpoise_stream_sample(stream, samples[i], NULL));
        OK(cpoise_tach_reader_sample(&reader, tach[i], &found, &seconds, NULL));
        if (found) {
            OK(cpoise_pulse_gate_pulse(&gate, seconds, &taken, &mark, NULL));
            if (taken) {
                OK(cpoise_stream_mark(stream, &mark, NULL));
            }
        }
    }
    OK(cpoise_stream_estimate(stream, &chain, &channel, &vector, NULL));
    tell_vector("estimate", &vector);
    OK(cpoise_stream_finish(stream, &chain, &channel, &vector, NULL));
    tell_vector("finish", &vector);
    OK(cpoise_stream_finish(stream, NULL, NULL, &vector, NULL));
    CHECK(vector.has_reading == 0);
    OK(cpoise_stream_lowest_speed(stream, &lowest, NULL));
    printed = 0;
    tell_next("levels", low);
    tell_next("levels", high);
    tell_next("levels", lowest);

    /* What is refused. */
    fill(&no_vector, sizeof no_vector);
    vector = no_vector;
    STATUS(CPOISE_SYNCHRONOUS_TOO_FEW_MARKS,
           cpoise_extract_double(samples, COUNT, marks, 2, &extraction, NULL, NULL, &vector, NULL));
    STATUS(CPOISE_SYNCHRONOUS_TOO_FEW_TURNS,
           cpoise_extract_double(samples, 60, marks, mark_count, &extraction, NULL, NULL, &vector, NULL));
    STATUS(CPOISE_COUNT_TOO_LARGE,
           cpoise_extract_double(samples, SIZE_MAX / 4, marks, mark_count, &extraction, NULL, NULL, &vector, NULL));
    STATUS(CPOISE_COUNT_TOO_LARGE,
           cpoise_extract_float(floats, COUNT, marks, SIZE_MAX, &extraction, NULL, NULL, &vector, NULL));
    STATUS(CPOISE_NULL_POINTER,
           cpoise_extract_double(samples, COUNT, marks, mark_count, &extraction, NULL, &channel, &vector, &detail));
    CHECK(strcmp(detail.text, "a channel is given, and chain is NULL") == 0);
    extraction.orders = bad_orders;
    STATUS(CPOISE_SYNCHRONOUS_FIRST_ORDER,
           cpoise_extract_double(samples, COUNT, marks, mark_count, &extraction, NULL, NULL, &vector, NULL));
    extraction.order_count = 9;
    STATUS(CPOISE_OUT_OF_RANGE,
           cpoise_extract_double(samples, COUNT, marks, mark_count, &extraction, NULL, NULL, &vector, NULL));
    extraction.orders = orders;
    extraction.order_count = 2;
    extraction.rate_hertz = 0.0;
    STATUS(CPOISE_SYNCHRONOUS_BAD_NUMBER,
           cpoise_extract_double(samples, COUNT, marks, mark_count, &extraction, NULL, NULL, &vector, NULL));
    extraction.rate_hertz = 1000.0;
    extraction.size = 8;
    STATUS(CPOISE_BAD_SIZE,
           cpoise_extract_double(samples, COUNT, marks, mark_count, &extraction, NULL, NULL, &vector, NULL));
    extraction.size = sizeof extraction;
    chain.response_count = 65;
    STATUS(CPOISE_OUT_OF_RANGE,
           cpoise_extract_double(samples, COUNT, marks, mark_count, &extraction, &chain, &channel, &vector, NULL));
    chain.response_count = 2;
    chain.polarity = 3;
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_stream_estimate(stream, &chain, &channel, &vector, NULL));
    chain.polarity = 0;
    chain.scale = 0;
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_stream_estimate(stream, &chain, &channel, &vector, NULL));
    chain.scale = CPOISE_SCALE_MIL;
    chain.per_unit = 0.0;
    STATUS(CPOISE_SYNCHRONOUS_BAD_NUMBER, cpoise_stream_estimate(stream, &chain, &channel, &vector, NULL));
    CHECK(memcmp(&vector, &no_vector, sizeof vector) == 0);

    STATUS(CPOISE_SYNCHRONOUS_MARK_OUT_OF_ORDER, cpoise_stream_mark(stream, &marks[0], NULL));
    STATUS(CPOISE_SYNCHRONOUS_SAMPLE_NOT_FINITE, cpoise_stream_sample(stream, not_a_number(), NULL));
    STATUS(CPOISE_SYNCHRONOUS_SAMPLE_NOT_FINITE, cpoise_stream_sample(stream, 1.0, NULL));
    OK(cpoise_stream_estimate(stream, NULL, NULL, &vector, NULL));
    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_stream_make(&extraction, 1024, memory, bytes - 1, &stream, &detail));
    STATUS(CPOISE_MISALIGNED, cpoise_stream_make(&extraction, 1024, (char *)memory + 1, bytes, &stream, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_stream_make(&extraction, 1024, NULL, bytes, &stream, NULL));
    STATUS(CPOISE_WRONG_COUNT, cpoise_stream_make(&extraction, 1000, memory, bytes, &stream, NULL));
    STATUS(CPOISE_WRONG_COUNT, cpoise_stream_size(5, 1024, &bytes, NULL));
    STATUS(CPOISE_WRONG_COUNT, cpoise_stream_size(SIZE_MAX, SIZE_MAX, &bytes, NULL));
    /* Memory in which no stream was made. */
    memset(memory, 0, sizeof memory);
    STATUS(CPOISE_WRONG_STATE, cpoise_stream_sample((cpoise_stream *)(void *)memory, 1.0, NULL));
    STATUS(CPOISE_WRONG_STATE, cpoise_stream_estimate((cpoise_stream *)(void *)memory, NULL, NULL, &vector, NULL));
    memset(&no_reader, 0, sizeof no_reader);
    STATUS(CPOISE_WRONG_STATE, cpoise_tach_reader_sample(&no_reader, 1.0, &found, &seconds, NULL));
    memset(&gate, 0, sizeof gate);
    STATUS(CPOISE_WRONG_STATE, cpoise_pulse_gate_pulse(&gate, 1.0, &taken, &mark, NULL));
    STATUS(CPOISE_SYNCHRONOUS_NO_PULSES, cpoise_tach_reader_make(1.0, 1.0, CPOISE_EDGE_RISING, 1.0, &no_reader, NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_tach_reader_make(0.0, 1.0, 0, 1.0, &no_reader, NULL));
    STATUS(CPOISE_SYNCHRONOUS_MARK_PATTERN, cpoise_pulse_gate_make(0, 1.0, 2.0, 3.0, &gate, NULL));
    STATUS(CPOISE_READING_BAD_WINDOW, cpoise_pulse_gate_make(1, 3.0, 2.0, 3.0, &gate, NULL));
    STATUS(CPOISE_SYNCHRONOUS_GEAR_RATIO, cpoise_pulses_to_marks(pulses, pulse_count, 1, 0, 0, 1, marks, 64, &i, NULL));
    STATUS(CPOISE_SYNCHRONOUS_MARK_PATTERN, cpoise_pulses_to_marks(pulses, pulse_count, 0, 0, 1, 1, marks, 64, &i, NULL));
    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_pulses_to_marks(pulses, pulse_count, 1, 0, 1, 1, marks, 3, &i, NULL));
    CHECK(i == mark_count);
    STATUS(CPOISE_NO_VALUE, cpoise_saturation_found(samples, 3, &low, &high, NULL));
    OK(cpoise_saturation_found(tach, COUNT, &low, &high, NULL));
    CHECK(low == 0.5 && high == 4.0);
    return done();
}
