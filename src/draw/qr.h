/* SPDX-License-Identifier: MIT
 * QR codes (ISO/IEC 18004) of text; libqrencode makes them, in qr.c alone. */
#ifndef DM_DRAW_QR_H
#define DM_DRAW_QR_H

#include "draw/canvas.h"

/* White round a code that readers need, in modules. */
#define DM_QR_QUIET 4
/* Bytes of a text, at most; two less where it is not ASCII. */
#define DM_QR_MOST 2331

typedef struct {
    size_t size;         /* modules a side; 0: none */
    unsigned char *dark; /* heap, [size * size], by rows: 1 dark, 0 light */
} dm_qr;

/* UTF-8, and said to be so (ECI 26) where it is not ASCII; error correction M:
 * 15 % of the code may be dirty. The same text gives the same code. Free with
 * dm_qr_free.
 * @return DM_OK; DM_NOMEM; DM_RANGE: empty, or too long */
dm_status dm_qr_make(const char *text, dm_qr *out);
void dm_qr_free(dm_qr *qr);
/* `side` mm, with its quiet zone; (x, y): the upper left corner. */
void dm_qr_draw(dm_canvas *canvas, const dm_qr *qr, double x, double y,
                double side);

#endif
