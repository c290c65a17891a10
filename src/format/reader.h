/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading a job out of a tree of nodes: every mistake becomes a remark and reading goes on. */
#ifndef DW_FORMAT_READER_H
#define DW_FORMAT_READER_H

#include "format/tree.h"

struct dw_joint;

struct dw_reader {
    struct dw_job *job;
    struct dw_arena *tree; /* nodes of the job and of its tables */
    struct dw_report *report;
    const char *folder;    /* where named files lie; NULL: none may be named */
    bool no_memory;        /* sticks; checked once at the end */
    struct dw_worth worth; /* default of the materials, from the rules */

    /* Growing; moved to the job's arena at the end. */
    struct dw_supply *supplies;
    size_t n_supplies;
    size_t supply_capacity;
    struct dw_part *parts;
    size_t n_parts;
    size_t part_capacity;
    struct dw_order *orders;
    size_t n_orders;
    size_t order_capacity;

    struct dw_joint *joints; /* rules for the meetings of drawings; length n_joints */
    size_t n_joints;
    size_t n_drawings; /* read so far */

    bool named_orders;    /* the job lists its orders: no other may be named */
    size_t loose_order;   /* order of parts that name none; DW_NONE: not made yet */
    int n_tables;         /* files named so far */
    bool rename;          /* keys get the first name of their field */
    bool logo_kept;       /* the logo of a shop is kept beside it: none is read */
    bool of_shelf;        /* the materials are those of a shelf, not of the job's file */
    size_t last_material; /* the one found last, tried first */
    size_t
        n_file_material; /* 1 + the one of rows that name none, as said of their file; 0 = none */
};

/* A file that is going to be read: its name is a path from the folder of the file that names it. In
 * the job's arena, as places point to it, and among job->files. NULL without memory. */
const char *dw_reader__path(struct dw_reader *reader, const char *folder, const char *name);

/* --- remarks -------------------------------------------------------------------------------- */

void dw_reader__say(struct dw_reader *reader, enum dw_severity severity, struct dw_place at,
                    const char *format, ...) __attribute__((format(printf, 4, 5)));

/* --- maps ----------------------------------------------------------------------------------- */

struct dw_field;

/* Reads one value into the row; false when it was refused. */
typedef bool dw_field_read(struct dw_reader *reader, const struct dw_field *field,
                           const struct dw_node *value, void *row);

enum dw_need {
    DW_MAY,    /* may be left out */
    DW_COLUMN, /* may be left out in a job, but a table has a column for it */
    DW_MUST,
    DW_ONE_OF,  /* one of this and those that are DW_INSTEAD: the reader of the row checks it */
    DW_INSTEAD, /* may be left out; a table that has it needs no column that is DW_ONE_OF */
};

struct dw_field {
    const char *names; /* "length|cut length|size": lower case; the first one is shown */
    dw_field_read *read;
    size_t offset; /* of the value in the row */
    enum dw_need need;
};

#define DW_FIELD_MAX 32 /* fields of a map; `given` of dw_reader__map has a bit for each */

/* Reads a map into `row` by a table of fields. Unknown, repeated and missing keys are refused.
 * `given`, if wanted, tells by bit i that field i was written. False if anything was refused. */
bool dw_reader__map(struct dw_reader *reader, const struct dw_node *map, const char *what,
                    const struct dw_field *fields, size_t n_fields, void *row, uint32_t *given);

/* Lower case, trimmed, with each run of blanks, `_` and `-` as one blank. Returns out. */
#define DW_KEY_TEXT 64
char *dw_key__fold(char out[DW_KEY_TEXT], const char *text, size_t n);
/* Index of the field that has the folded name, or DW_NONE. */
size_t dw_field__find(const struct dw_field *fields, size_t n_fields, const char *folded);
/* The field whose name is near the folded one, or DW_NONE. */
size_t dw_field__guess(const struct dw_field *fields, size_t n_fields, const char *folded);
/* First name of a field, terminated. Returns out. */
char *dw_field__name(char out[DW_KEY_TEXT], const struct dw_field *field);
/* Does the field hold a length, or money? */
bool dw_field__is_length(const struct dw_field *field);
bool dw_field__is_money(const struct dw_field *field);
/* Number of insertions, deletions and replacements between two texts (Levenshtein 1966), texts cut
 * at DW_KEY_TEXT. Cost: O(|a| |b|). */
size_t dw_text__distance(const char *a, const char *b);

/* A bar as it is read. */
struct dw_bar_row {
    struct dw_supply supply; /* first: readers take the row for it */
    struct dw_worth price;   /* kind RATE: the price was given per length */
};

/* --- values: fit struct dw_field.read --------------------------------------------------------- */

dw_field_read dw_read__node;     /* const struct dw_node *: kept for later */
dw_field_read dw_read__text;     /* const char *: one line */
dw_field_read dw_read__lines;    /* const char *: a list of lines, or lines of a block */
dw_field_read dw_read__language; /* const char *: two letters of ISO 639-1 */
dw_field_read dw_read__remark;   /* const char *: line ends become blanks */
dw_field_read dw_read__date;     /* const char *: YYYY-MM-DD */
dw_field_read dw_read__length;   /* dw_length > 0 */
dw_field_read dw_read__length0;  /* dw_length >= 0 */
dw_field_read dw_read__range;    /* of struct dw_part, at offset 0: min, max, written */
dw_field_read dw_read__money;    /* dw_money >= 0 */
dw_field_read dw_read__count;    /* int64_t >= 1 */
dw_field_read dw_read__cap1;     /* the same from 1 on */
dw_field_read dw_read__cap;      /* int64_t >= 0, or `unlimited`: DW_UNLIMITED */
dw_field_read dw_read__percent;  /* int64_t: parts per million, 0..1 000 000 */
dw_field_read dw_read__yes;      /* bool */
dw_field_read dw_read__density;  /* int64_t: grams a cubic metre */
dw_field_read dw_read__material; /* size_t: index into the job's materials */
dw_field_read dw_read__version;  /* nothing: this program reads version 1 */
dw_field_read dw_read__unit;     /* enum dw_unit: a word for one */
dw_field_read dw_read__currency; /* char[4]: ISO 4217 */
dw_field_read dw_read__ends;     /* enum dw_end[2] */
dw_field_read dw_read__per;      /* rate and per of struct dw_worth: text that holds " per " */
dw_field_read dw_read__price;    /* dw_money of a struct dw_bar_row */
dw_field_read dw_read__worth;    /* struct dw_worth, all but `keep` */

/* Trims blanks; a value that is no scalar is refused. false: refused or empty. */
bool dw_read__scalar(struct dw_reader *reader, const struct dw_field *field,
                     const struct dw_node *value, const char **text, size_t *n);
/* Refuses the value, at character `column` of its text if that is known (else 0). Returns false. */
bool dw_read__refuse(struct dw_reader *reader, const struct dw_field *field,
                     const struct dw_node *value, int column, const char *format, ...)
    __attribute__((format(printf, 5, 6)));
/* Index of the material called text[0..n), or DW_NONE. */
size_t dw_reader__find_material(struct dw_reader *reader, const char *text, size_t n);

/* --- the parts of a job ----------------------------------------------------------------------- */

/* Gives each key of a job's tree that is another name of its field the first one: `qty` becomes
 * `count`. What is wrong with the job does not matter. DW_OK, DW_ERR_NOMEM. */
dw_err dw_reader__rename(struct dw_arena *arena, const struct dw_node *root,
                         struct dw_error *error);

void dw_reader__materials(struct dw_reader *reader, const struct dw_node *list);
void dw_reader__bars(struct dw_reader *reader, const struct dw_node *rows);
void dw_reader__offcuts(struct dw_reader *reader, const struct dw_node *rows);
/* `order` is DW_NONE for rows that may name their order. */
void dw_reader__parts(struct dw_reader *reader, const struct dw_node *rows, size_t order);
void dw_reader__posts(struct dw_reader *reader, const struct dw_node *rows, size_t order);
void dw_reader__drawings(struct dw_reader *reader, const struct dw_node *list);
void dw_reader__orders(struct dw_reader *reader, const struct dw_node *list);
/* Index of a new order, DW_NONE without memory. */
size_t dw_reader__add_order(struct dw_reader *reader, const struct dw_order *order);

/* Calls read_row for each row of a list, of a table file, or of a list that holds both. */
typedef void dw_row_read(struct dw_reader *reader, const struct dw_node *row, void *user);
/* A file of them that is a drawing: `read_drawing` gets it, NULL where they are no parts. */
struct dw_drawing_file;
typedef void dw_drawing_read(struct dw_reader *reader, const struct dw_drawing_file *file,
                             void *user);
void dw_reader__rows(struct dw_reader *reader, const struct dw_node *rows, const char *what,
                     const struct dw_field *fields, size_t n_fields, dw_row_read *read_row,
                     dw_drawing_read *read_drawing, void *user);

/* Drawings that the job holds itself, with their text. */
void dw_reader__held_drawings(struct dw_reader *reader, const struct dw_node *list,
                              dw_drawing_read *read_drawing, void *user);

/* The same for the text of a table, known by `name`. */
void dw_reader__table(struct dw_reader *reader, const char *text, size_t n, const char *name,
                      const char *what, const struct dw_field *fields, size_t n_fields,
                      dw_row_read *read_row, void *user);

/* Checks across rows: numbers used twice, book values that were not given. */
void dw_reader__finish_supplies(struct dw_reader *reader);
/* Raises book values to what leftovers are worth; needs all parts. */
void dw_reader__raise_supplies(struct dw_reader *reader);
void dw_reader__finish_parts(struct dw_reader *reader);

#endif
