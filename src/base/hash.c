/* SPDX-License-Identifier: MIT
 * SHA-256 (FIPS 180-4) through OpenSSL; this file alone includes it. */
#include <stdlib.h>

#include <openssl/evp.h>

#include "base/file.h"

struct dm_sha256 {
    EVP_MD_CTX *context;
    bool failed;
};

dm_sha256 *dm_sha256_new(void)
{
    dm_sha256 *hash = calloc(1, sizeof *hash);

    if (hash == NULL)
        return NULL;
    hash->context = EVP_MD_CTX_new();
    if (hash->context == NULL ||
        EVP_DigestInit_ex(hash->context, EVP_sha256(), NULL) != 1) {
        dm_sha256_free(hash);
        return NULL;
    }
    return hash;
}

void dm_sha256_update(dm_sha256 *hash, const void *bytes, size_t length)
{
    if (EVP_DigestUpdate(hash->context, bytes, length) != 1)
        hash->failed = true;
}

/* A digest that failed inside the library is given as an empty text, never as
 * the digest of something else. */
void dm_sha256_hex(dm_sha256 *hash, char out[65])
{
    static const char digit[] = "0123456789abcdef";
    unsigned char sum[EVP_MAX_MD_SIZE];
    unsigned length = 0, i;

    out[0] = '\0';
    if (hash->failed || EVP_DigestFinal_ex(hash->context, sum, &length) != 1 ||
        length != 32) {
        hash->failed = true;
        return;
    }
    for (i = 0; i < 32; i++) {
        out[2 * i] = digit[sum[i] >> 4];
        out[2 * i + 1] = digit[sum[i] & 15];
    }
    out[64] = '\0';
    hash->failed = true; /* a finished context takes no more bytes */
}

void dm_sha256_free(dm_sha256 *hash)
{
    if (hash == NULL)
        return;
    EVP_MD_CTX_free(hash->context);
    free(hash);
}
