/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the meetings of a drawing become: the rules of a job, and the parts that they make. */
#ifndef DW_FORMAT_JOINT_H
#define DW_FORMAT_JOINT_H

#include "drawing/sketch.h"
#include "format/reader.h"

enum dw_joint_kind { DW_JOINT_FREE, DW_JOINT_FITTING, DW_JOINT_MITRE, DW_JOINT_NOTCH };

/* One rule: the first of a job that fits an end is its own. */
struct dw_joint {
    enum dw_meet meet;
    const char *layer; /* of the tube that ends; NULL = any */
    const char *with;  /* of a tube that it meets; NULL = any */
    enum dw_joint_kind kind;
    size_t fitting; /* DW_JOINT_FITTING: index into the job's fittings */
    bool used;
    struct dw_place at;
};

/* Reads the rules; needs the fittings of the job. */
void dw_reader__joints(struct dw_reader *reader, const struct dw_node *list);
/* The rule for an end of a tube; NULL: none fits. */
struct dw_joint *dw_joint__find(struct dw_reader *reader, const struct dw_sketch *sketch,
                                const struct dw_tube *tube, int end);
/* A rule that fitted no end is told, where there was a drawing. */
void dw_reader__unused_joints(struct dw_reader *reader);

/* A drawing, and what is said of it beside its name. */
struct dw_drawing_file {
    const char *name; /* its path */
    const char *text; /* length n */
    size_t n;
    enum dw_unit unit;  /* NONE: as the drawing says */
    const char *layers; /* NULL: all of them, each as the material of its name */
    const char *label;  /* what labels begin with; NULL: P */
    bool one_tube;
    struct dw_place at;
};

/* Gives each part of a drawing to `add`, all but its order set. */
typedef void dw_part_add(struct dw_reader *reader, const struct dw_part *part, void *user);
void dw_reader__drawing(struct dw_reader *reader, const struct dw_drawing_file *file,
                        dw_part_add *add, void *user);

#endif
