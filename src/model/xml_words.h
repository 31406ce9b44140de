/* SPDX-License-Identifier: MIT
 * Schema faults in plain words. */
#ifndef DM_MODEL_XML_WORDS_H
#define DM_MODEL_XML_WORDS_H

#include <stdbool.h>
#include <stddef.h>

/* From libxml2's error code and message to the element at fault and what is
 * wrong and expected. False: an echo of another fault, not worth saying. */
bool xml_words(int code, const char *message, char *subject,
               size_t subject_size, char *text, size_t text_size);

#endif
