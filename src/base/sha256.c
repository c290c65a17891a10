/* SPDX-License-Identifier: GPL-3.0-or-later */
/* SHA-256 after FIPS 180-4, "Secure Hash Standard" (NIST, 2015), sections 4.1.2, 4.2.2, 5.1.1,
 * 5.3.3 and 6.2; names as there. */
#include "base/base.h"

#include <string.h>

/* 4.2.2: the first 32 bits of the fractional parts of the cube roots of the first 64 primes. */
static const uint32_t k[64] = {
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2,
};

static uint32_t rotr(uint32_t x, int n)
{
    return x >> n | x << (32 - n);
}

/* 6.2.2: one block. */
static void take_block(uint32_t state[8], const unsigned char block[64])
{
    uint32_t w[64];
    for (int t = 0; t < 16; t++)
        w[t] = (uint32_t)block[4 * t] << 24 | (uint32_t)block[4 * t + 1] << 16 |
               (uint32_t)block[4 * t + 2] << 8 | block[4 * t + 3];
    for (int t = 16; t < 64; t++) {
        uint32_t s0 = rotr(w[t - 15], 7) ^ rotr(w[t - 15], 18) ^ w[t - 15] >> 3;
        uint32_t s1 = rotr(w[t - 2], 17) ^ rotr(w[t - 2], 19) ^ w[t - 2] >> 10;
        w[t] = s1 + w[t - 7] + s0 + w[t - 16];
    }
    uint32_t a = state[0], b = state[1], c = state[2], d = state[3];
    uint32_t e = state[4], f = state[5], g = state[6], h = state[7];
    for (int t = 0; t < 64; t++) {
        uint32_t s1 = rotr(e, 6) ^ rotr(e, 11) ^ rotr(e, 25);
        uint32_t t1 = h + s1 + ((e & f) ^ (~e & g)) + k[t] + w[t];
        uint32_t s0 = rotr(a, 2) ^ rotr(a, 13) ^ rotr(a, 22);
        uint32_t t2 = s0 + ((a & b) ^ (a & c) ^ (b & c));
        h = g, g = f, f = e, e = d + t1;
        d = c, c = b, b = a, a = t1 + t2;
    }
    const uint32_t by[8] = {a, b, c, d, e, f, g, h};
    for (int i = 0; i < 8; i++)
        state[i] += by[i];
}

void dw_sha256__begin(struct dw_sha256 *hash)
{
    *hash = (struct dw_sha256){.state = {0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a, 0x510e527f,
                                         0x9b05688c, 0x1f83d9ab, 0x5be0cd19}};
}

void dw_sha256__add(struct dw_sha256 *hash, const void *bytes, size_t n)
{
    const unsigned char *at = bytes;
    while (n > 0) {
        size_t used = (size_t)(hash->n % 64);
        size_t some = n < 64 - used ? n : 64 - used;
        memcpy(hash->block + used, at, some);
        hash->n += some;
        at += some;
        n -= some;
        if (hash->n % 64 == 0)
            take_block(hash->state, hash->block);
    }
}

/* 5.1.1: a one bit, zeros, and the length in bits. */
void dw_sha256__end(struct dw_sha256 *hash, unsigned char out[DW_SHA256_BYTES])
{
    static const unsigned char pad[64] = {0x80};
    unsigned char length[8];
    uint64_t bits = hash->n * 8;
    for (int i = 0; i < 8; i++)
        length[i] = (unsigned char)(bits >> (56 - 8 * i));
    dw_sha256__add(hash, pad, (size_t)((119 - hash->n % 64) % 64 + 1));
    dw_sha256__add(hash, length, sizeof length);
    for (int i = 0; i < 32; i++)
        out[i] = (unsigned char)(hash->state[i / 4] >> (24 - 8 * (i % 4)));
}
