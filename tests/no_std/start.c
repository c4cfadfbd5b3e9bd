/* A program without a C library: prints the number of the bare library in hexadecimal. x86-64 Linux. */
unsigned long long all_bits(void);

/* The compiler may call these four; nothing else is linked. */
void *memcpy(void *to, const void *from, unsigned long n) {
    unsigned char *t = to;
    const unsigned char *f = from;
    while (n--) *t++ = *f++;
    return to;
}
void *memmove(void *to, const void *from, unsigned long n) {
    unsigned char *t = to;
    const unsigned char *f = from;
    if (t < f) while (n--) *t++ = *f++;
    else while (n--) t[n] = f[n];
    return to;
}
void *memset(void *to, int value, unsigned long n) {
    unsigned char *t = to;
    while (n--) *t++ = (unsigned char)value;
    return to;
}
int memcmp(const void *a, const void *b, unsigned long n) {
    const unsigned char *x = a, *y = b;
    for (; n--; x++, y++) if (*x != *y) return *x - *y;
    return 0;
}
int bcmp(const void *a, const void *b, unsigned long n) { return memcmp(a, b, n); }

/* Named by the prebuilt core library, which can unwind; with panic = "abort" nothing calls it. */
void rust_eh_personality(void) {}

static long system_call(long number, long a, long b, long c) {
    long result;
    __asm__ volatile("syscall" : "=a"(result) : "a"(number), "D"(a), "S"(b), "d"(c) : "rcx", "r11", "memory");
    return result;
}

__attribute__((force_align_arg_pointer, noreturn)) void _start(void) {
    char text[17];
    unsigned long long bits = all_bits();
    for (int place = 15; place >= 0; place--, bits >>= 4) text[place] = "0123456789abcdef"[bits & 15];
    text[16] = '\n';
    system_call(1, 1, (long)text, 17);
    system_call(60, 0, 0, 0);
    for (;;) {}
}
