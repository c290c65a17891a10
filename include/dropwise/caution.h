/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a person has to be warned of at the saw, at a weight or at a load: one table.
 *
 * Limits are common practice unless a source is named beside them.
 *
 * Threads: any; all here only read tables that never change. */
#ifndef DROPWISE_CAUTION_H
#define DROPWISE_CAUTION_H

#include <dropwise/job.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Kinds of output, to be joined by |. */
enum dw_caution_place {
    DW_AT_SAW = 1,   /* whatever shows how tube is cut: report, sheet, saw view, held plan */
    DW_AT_BUY = 2,   /* order */
    DW_AT_QUOTE = 4, /* quote */
    DW_AT_DRAWN = 8, /* take-off and what sections weigh */
    DW_AT_LOAD = 16, /* the load check of posts */
    DW_AT_BAR = 32,  /* one bar of a plan, beside what stands for all of them */
    DW_AT_CUT = 64   /* the booking of a cut: in short, for the bars that come next */
};

/* X(name, word, places, text). A text with "%s" is shown of what it applies to, and names that
 * there; the others hold always. */
#define DW_CAUTION_LIST(X)                                                                         \
    X(DW_CAUTION_SAW, "saw", DW_AT_SAW | DW_AT_CUT,                                                \
      "Eye and hearing protection; guards on; no gloves, loose clothing or jewellery near a "      \
      "turning blade. Clamp the tube, keep hands clear. Chips and cut ends are hot and sharp: "    \
      "deburr inside and out. Measure each bar before the first cut.")                             \
    X(DW_CAUTION_ESTIMATE, "estimate", DW_AT_BUY | DW_AT_DRAWN,                                    \
      "Weights are estimates from nominal sizes, without fittings.")                               \
    X(DW_CAUTION_USE, "use", DW_AT_SAW | DW_AT_BUY | DW_AT_QUOTE | DW_AT_DRAWN,                    \
      "No overhead or load-bearing use on this program's word: local codes and licensed "          \
      "practice decide.")                                                                          \
    X(DW_CAUTION_LOAD, "load", DW_AT_LOAD,                                                         \
      "An aid, not an approval: estimates from nominal sizes and minimum yield. Left out: the "    \
      "tube's own weight, holes, welds and bends (each weakens it), wall tolerance, joints (a "    \
      "clamp slips and turns before the tube yields), tip-over, moving and overhead loads. "       \
      "Follow local codes; have a licensed professional check anything that people stand "         \
      "under or on.")                                                                              \
    X(DW_CAUTION_SHORT, "short piece", DW_AT_SAW | DW_AT_BAR | DW_AT_CUT,                          \
      "Too short to hold: %s. Hold each in a vise or a fixture, not by hand, and leave it room "   \
      "to fall away: between blade and stop it is trapped and thrown.")                            \
    X(DW_CAUTION_HEAVY, "heavy bar", DW_AT_SAW | DW_AT_BAR | DW_AT_CUT,                            \
      "Heavy bars: %s. Lift with help or a hoist.")                                                \
    X(DW_CAUTION_LONG, "long bar", DW_AT_SAW,                                                      \
      "Long bars: %s. Support both ends, and the piece that is cut off.")                          \
    X(DW_CAUTION_ZINC, "galvanised", DW_AT_SAW,                                                    \
      "Galvanised: %s. Grinding and welding give zinc fume and dust: clean the zinc off there, "   \
      "draw the fume away, do not breathe it.")                                                    \
    X(DW_CAUTION_STAINLESS, "stainless", DW_AT_SAW,                                                \
      "Stainless: %s. Its dust and fume hold chromium: draw them away, do not breathe them; "      \
      "its chips are hotter and sharper.")

enum dw_caution {
#define DW_CAUTION_ENUM(name, word, places, text) name,
    DW_CAUTION_LIST(DW_CAUTION_ENUM)
#undef DW_CAUTION_ENUM
};
#define DW_N_CAUTIONS 9

/* The word of documents and replies, and the table's text. Borrowed, never NULL. */
const char *dw_caution_word(enum dw_caution caution);
const char *dw_caution_text(enum dw_caution caution);
/* Whether a kind of output shows it. */
bool dw_caution_shown(enum dw_caution caution, enum dw_caution_place place);

/* A piece shorter than the larger of 150 mm and the tube's diameter is not held by hand (common
 * practice; mitre-saw manuals keep hands 6 in from the blade). */
#define DW_SHORT_PIECE (150 * INT64_C(1000000))
dw_length dw_short_limit(const struct dw_material *material);
/* A bar from 25 kg on is not lifted alone (common practice). */
#define DW_HEAVY_MG (25 * INT64_C(1000000))
/* A bar over 3 m sags and whips: both ends are supported (common practice). */
#define DW_LONG_BAR (INT64_C(3000) * 1000000)

/* What name, alloy, finish or id of a material say in words: galvanised, or stainless. */
bool dw_material_galvanised(const struct dw_material *material);
bool dw_material_stainless(const struct dw_material *material);

#ifdef __cplusplus
}
#endif
#endif
