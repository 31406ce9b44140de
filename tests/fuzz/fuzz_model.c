/* SPDX-License-Identifier: MIT
 * Bytes as a bridge file. */
#include "model_promise.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    dm_buf text = fuzz_text(data, size);

    promise_model(&text);
    dm_buf_free(&text);
    return 0;
}
