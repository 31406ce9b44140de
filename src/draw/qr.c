/* SPDX-License-Identifier: MIT
 * Dark modules of a row that touch are one rectangle, so that no seam shows
 * between them. */
#include "draw/qr.h"

#include <errno.h>
#include <qrencode.h>
#include <stdlib.h>
#include <string.h>

#define ECI_UTF8 26 /* AIM ECI assignment, ISO/IEC 18004 mode ECI */

/* Text that is not ASCII says that it is UTF-8: some readers guess otherwise.
 * errno tells why there is none. */
static QRcode *encode(const char *text)
{
    QRinput *input;
    QRcode *code = NULL;
    size_t i = 0, length = strlen(text);

    while (i < length && (unsigned char)text[i] < 0x80)
        i++;
    if (i == length)
        return QRcode_encodeString8bit(text, 0, QR_ECLEVEL_M);
    if (length > DM_QR_MOST) {
        errno = ERANGE;
        return NULL;
    }
    input = QRinput_new2(0, QR_ECLEVEL_M);
    if (input == NULL)
        return NULL;
    if (QRinput_appendECIheader(input, ECI_UTF8) == 0 &&
        QRinput_append(input, QR_MODE_8, (int)length,
                       (const unsigned char *)text) == 0)
        code = QRcode_encodeInput(input);
    i = (size_t)errno;
    QRinput_free(input);
    errno = (int)i;
    return code;
}

dm_status dm_qr_make(const char *text, dm_qr *out)
{
    QRcode *code;
    size_t i, count;
    int why;

    *out = (dm_qr){0};
    errno = 0;
    code = encode(text);
    why = errno;
    if (code == NULL)
        return why == ENOMEM ? DM_NOMEM : DM_RANGE;
    count = (size_t)code->width * (size_t)code->width;
    out->dark = malloc(count);
    if (out->dark != NULL) {
        out->size = (size_t)code->width;
        for (i = 0; i < count; i++)
            out->dark[i] = code->data[i] & 1u;
    }
    QRcode_free(code);
    return out->dark == NULL ? DM_NOMEM : DM_OK;
}

void dm_qr_free(dm_qr *qr)
{
    free(qr->dark);
    *qr = (dm_qr){0};
}

void dm_qr_draw(dm_canvas *canvas, const dm_qr *qr, double x, double y,
                double side)
{
    dm_look black = {.fill = 0x000000, .stroke = DM_NO_COLOUR};
    double step = side / (double)(qr->size + 2 * DM_QR_QUIET);
    dm_path path = {0};
    size_t row, from, to;

    x += DM_QR_QUIET * step;
    y += DM_QR_QUIET * step;
    for (row = 0; row < qr->size; row++) {
        const unsigned char *dark = &qr->dark[row * qr->size];

        for (from = 0; from < qr->size; from = to) {
            for (to = from + 1; to < qr->size && dark[to] == dark[from];)
                to++;
            if (dark[from])
                dm_path_rect(&path, x + (double)from * step,
                             y + (double)row * step, (double)(to - from) * step,
                             step);
        }
    }
    dm_canvas_path(canvas, &path, &black);
    dm_path_free(&path);
}
