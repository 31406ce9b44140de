/* SPDX-License-Identifier: MIT
 * What the files of the locate command share: the header of the table that
 * comes in, one row of it as a place, and the columns that go out. */
#ifndef DM_CLI_LOCATE_H
#define DM_CLI_LOCATE_H

#include "base/buf.h"
#include "ductmark/locate.h"
#include "survey/csv.h"

/* What a row may say of a place. The lengths come first. */
typedef enum {
    IN_STATION,
    IN_BRIDGE_STATION,
    IN_SHOWN,
    IN_OFFSET,
    IN_HEIGHT,
    IN_X,
    IN_Y,
    IN_Z,
    IN_EAST,
    IN_NORTH,
    IN_MAP_HEIGHT,
    IN_TAPE,
    IN_RUN_DISTANCE,
    IN_LENGTHS, /* how many of them */
    IN_CLOCK = IN_LENGTHS,
    IN_ZONE,
    IN_TENDON,
    IN_FACE,
    IN_RUN,
    IN_SEGMENT,
    IN_CHANNEL,
    IN_COUNT
} locate_field;

/* What a row's place is read from. */
typedef enum {
    FROM_STATION,
    FROM_BRIDGE,
    FROM_SHOWN,
    FROM_OFFSET,
    FROM_XYZ,
    FROM_MAP,
    FROM_TAPE,
    FROM_RUN,
    FROM_COUNT
} locate_from;

/* Words of one kind, for options and messages. */
const char *locate_from_text(locate_from from);

#define LOCATE_NAME 32

typedef struct {
    char delimiter, decimal;
    size_t columns; /* of the header */
    locate_from from;
    /* Index of the column, DM_NONE: not there; metres per unit; its name. */
    size_t column[IN_COUNT];
    double unit[IN_COUNT];
    char name[IN_COUNT][LOCATE_NAME];
} locate_head;

/* What the commands knows of the bridge. */
typedef struct {
    const dm_model *model;
    const dm_survey *survey;            /* NULL: no field book */
    const dm_stations *const *stations; /* [tendon_count], or NULL */
    dm_locate_runs *runs;               /* NULL: no field book */
} locate_bridge;

/* Finds the columns. `from` names the kind, or is NULL: what the header
 * offers. False: unusable; why is in `problem`. */
bool locate_head_read(const locate_bridge *bridge, const csv_cell *cells,
                      size_t count, const char *from, locate_head *head,
                      dm_buf *problem);

/* A row as a place. */
typedef struct {
    dm_located at;
    bool near; /* the nearest point of an axis: near and next are set */
    dm_locate_near nearest, next;
    bool read; /* a run distance: point is set */
    dm_station_point point;
    size_t run; /* of the row, or DM_NONE: the readings of all runs count */
} locate_place;

/* False: it has no place; why is in `problem`, which is empty before. */
bool locate_row_read(const locate_bridge *bridge, const locate_head *head,
                     const csv_cell *cells, locate_place *out, dm_buf *problem);

/* The cell's text without its quotes; NUL bytes become blanks. */
void locate_cell_text(const csv_cell *cell, dm_buf *out);

/* Groups of columns that go out. */
enum {
    TO_STATION = 1,
    TO_BRIDGE = 2,
    TO_OFFSET = 4,
    TO_XYZ = 8,
    TO_MAP = 16,
    TO_TAPE = 32,
    TO_RUN = 64,
    TO_NEAR = 128,   /* with points in space */
    TO_READ = 256,   /* with run distances: bounds */
    TO_CLOCK = 512,  /* where a clock angle is known: the outside */
    TO_ZONES = 1024, /* where the station shown jumps */
    TO_EPSG = 2048   /* where the map's system is stated */
};

typedef struct {
    unsigned groups;
    double unit;        /* metres per unit */
    const char *suffix; /* "_m" */
} locate_out;

/* Which groups a list of words asks for, among those that there are (NULL:
 * all of them). False: why is in `problem`. */
bool locate_out_choose(const locate_bridge *bridge, const locate_head *head,
                       const char *list, locate_out *out, dm_buf *problem);
/* "m", "mm", "ft", "us-ft", "in". False: none of them. */
bool locate_out_units(const char *word, locate_out *out);
/* The cells behind those of the header, with the delimiter before each; a
 * name that `cells` has already is told apart by "located_". */
void locate_out_head(const locate_head *head, const locate_out *out,
                     const csv_cell *cells, size_t count, dm_buf *text);
/* The same for a row; place NULL: they are empty but for the problem. */
void locate_out_row(const locate_bridge *bridge, const locate_head *head,
                    const locate_out *out, const locate_place *place,
                    const char *problem, dm_buf *text);
/* One cell as it came, so that it starts no formula. */
void locate_out_cell(const locate_head *head, const csv_cell *cell,
                     dm_buf *text);

/* The filter with all that it holds; zeroed but for what is set before. */
typedef struct {
    /* Set before: bridge, head.delimiter and .decimal, out.unit and .suffix. */
    locate_bridge bridge;
    locate_head head;
    locate_out out;
    const char *from, *to; /* words of the options, or NULL */
    dm_diag *diag;
    int (*print)(void *user, const dm_buf *text); /* an exit code */
    void *user;
    /* Its own. */
    csv_file file;
    csv_cell cells[CSV_MOST_COLUMNS];
    dm_buf text, problem;
    size_t bad; /* rows without a place */
} locate_filter;

/* Reads a descriptor to its end and closes it. EXIT_LEFT_OUT where rows had no
 * place; EXIT_INPUT, EXIT_OUTPUT. Faults are said with `name` and line. */
int locate_filter_run(locate_filter *f, int fd, const char *name);

#endif
