/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of cautions, and which of them apply to bars and pieces. */
#include "model/caution.h"

#include <dropwise/weight.h>

#include <assert.h>
#include <inttypes.h>
#include <string.h>

static const struct {
    const char *word;
    int places;
    const char *text;
} cautions[] = {
#define DW_CAUTION_ROW(name, word, places, text) {word, places, text},
    DW_CAUTION_LIST(DW_CAUTION_ROW)
#undef DW_CAUTION_ROW
};
static_assert(DW_COUNT(cautions) == DW_N_CAUTIONS, "a row each");

const char *dw_caution_word(enum dw_caution caution)
{
    return cautions[caution].word;
}

const char *dw_caution_text(enum dw_caution caution)
{
    return cautions[caution].text;
}

bool dw_caution_shown(enum dw_caution caution, enum dw_caution_place place)
{
    return (cautions[caution].places & (int)place) != 0;
}

bool dw_caution__names(enum dw_caution caution)
{
    return strstr(cautions[caution].text, "%s") != NULL;
}

/* --- what a material is ---------------------------------------------------------------------- */

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

static char small(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

/* Whether a word of the text, whatever its case, begins so. */
static bool has_word(const char *text, const char *begin)
{
    for (const char *c = text; c && *c; c++) {
        size_t n = 0;
        while (begin[n] && small(c[n]) == begin[n])
            n++;
        if (!begin[n] && (c == text || !is_letter(c[-1])))
            return true;
    }
    return false;
}

static bool says_any(const struct dw_material *material, const char *const *words, size_t n)
{
    const char *const texts[] = {material->id, material->name, material->alloy, material->finish};
    for (size_t t = 0; t < DW_COUNT(texts); t++)
        for (size_t i = 0; i < n; i++)
            if (has_word(texts[t], words[i]))
                return true;
    return false;
}

bool dw_material_galvanised(const struct dw_material *material)
{
    static const char *const words[] = {"galv", "zinc", "hot-dip", "hot dip"};
    return says_any(material, words, DW_COUNT(words));
}

/* Numbers of alloys alone: AISI 300 series in use for tube, and 1.4xxx, the stainless steels of
 * EN 10088 (from memory). */
bool dw_material_stainless(const struct dw_material *material)
{
    static const char *const words[] = {"stainless", "inox"};
    static const char *const alloys[] = {"304", "316", "1.4"};
    bool said = says_any(material, words, DW_COUNT(words));
    for (size_t i = 0; material->alloy && i < DW_COUNT(alloys); i++)
        said = said || strncmp(material->alloy, alloys[i], strlen(alloys[i])) == 0;
    return said;
}

dw_length dw_short_limit(const struct dw_material *material)
{
    return material->od > DW_SHORT_PIECE ? material->od : DW_SHORT_PIECE;
}

/* --- gathering ------------------------------------------------------------------------------- */

static void note(struct dw_care *care, enum dw_caution caution, const char *name)
{
    struct dw_care_names *of = &care->of[caution];
    name = name ? name : "?";
    for (size_t i = 0; i < of->n; i++)
        if (strcmp(of->names[i], name) == 0)
            return;
    if (of->n == DW_CARE_NAMES)
        of->more = true;
    else
        of->names[of->n++] = name;
}

/* -1 = not known. */
static int64_t weigh(const struct dw_material *material, dw_length length)
{
    int64_t mg = -1;
    return dw_material_weight(material, length, &mg, NULL) == DW_OK ? mg : -1;
}

void dw_care__bar(struct dw_care *care, const struct dw_material *material, const char *name,
                  dw_length length)
{
    if (length > DW_LONG_BAR)
        note(care, DW_CAUTION_LONG, name);
    if (!material)
        return;
    int64_t mg = weigh(material, length);
    struct dw_care_names *heavy = &care->of[DW_CAUTION_HEAVY];
    if (mg >= DW_HEAVY_MG) {
        note(care, DW_CAUTION_HEAVY, name);
        heavy->heaviest_mg = mg > heavy->heaviest_mg ? mg : heavy->heaviest_mg;
    }
    const char *what = material->name ? material->name : material->id;
    if (dw_material_galvanised(material))
        note(care, DW_CAUTION_ZINC, what);
    if (dw_material_stainless(material))
        note(care, DW_CAUTION_STAINLESS, what);
}

void dw_care__piece(struct dw_care *care, const struct dw_material *material, const char *name,
                    dw_length length)
{
    dw_length limit = material ? dw_short_limit(material) : DW_SHORT_PIECE;
    struct dw_care_names *of = &care->of[DW_CAUTION_SHORT];
    if (length >= limit)
        return;
    note(care, DW_CAUTION_SHORT, name);
    of->wide = of->wide || limit > DW_SHORT_PIECE;
}

void dw_care__plan(struct dw_care *care, const struct dw_job *job, const struct dw_plan *plan)
{
    for (size_t j = 0; j < plan->n_layouts; j++) {
        const struct dw_layout *layout = &plan->layouts[j];
        const struct dw_supply *supply = &job->supplies[layout->supply];
        const struct dw_material *material = &job->materials[supply->material];
        dw_care__bar(care, material, supply->id,
                     supply->measured ? supply->measured : supply->length);
        for (size_t i = 0; i < layout->n_pieces; i++) {
            const struct dw_piece *piece = &layout->pieces[i];
            const char *label = piece->part == DW_NONE ? NULL : job->parts[piece->part].label;
            dw_care__piece(care, material, label ? label : "bend end", piece->length);
        }
    }
}

/* --- words ----------------------------------------------------------------------------------- */

bool dw_care__shows(const struct dw_care *care, enum dw_caution caution,
                    enum dw_caution_place place)
{
    return dw_caution_shown(caution, place) &&
           (!dw_caution__names(caution) || care->of[caution].n > 0);
}

/* Whole kilograms or, where lengths are in inches, pounds, rounded half up: "about 201 kg". */
static void put_about(struct dw_buf *buf, int64_t mg, enum dw_unit unit)
{
    bool pounds = unit == DW_UNIT_IN || unit == DW_UNIT_FT;
    int64_t halves = 0;
    if (!dw_muldiv__i64(mg, 2000, pounds ? DW_UG_PER_LB : 1000 * DW_MG_PER_KG, &halves))
        halves = 0;
    dw_buf__format(buf, "about %" PRId64 " %s", (halves + 1) / 2, pounds ? "lb" : "kg");
}

static void put_names(struct dw_buf *buf, const struct dw_care_names *of)
{
    for (size_t i = 0; i < of->n; i++)
        dw_buf__format(buf, "%s%s", i ? ", " : "", of->names[i]);
    dw_buf__put(buf, of->more ? " and others" : "");
}

void dw_caution__limit(struct dw_buf *buf, dw_length limit, const struct dw_length_style *style)
{
    bool inches = style->unit == DW_UNIT_IN || style->unit == DW_UNIT_FT;
    char text[DW_LENGTH_TEXT];
    dw_length__print_fine(text, limit, style);
    dw_buf__put(buf, limit == DW_SHORT_PIECE ? (inches ? "about 6 in" : "150 mm")
                     : limit == DW_LONG_BAR  ? (inches ? "about 10 ft" : "3 m")
                                             : text);
}

void dw_care__text(struct dw_buf *buf, const struct dw_care *care, enum dw_caution caution,
                   const struct dw_length_style *style)
{
    const char *text = dw_caution_text(caution), *gap = strstr(text, "%s");
    const struct dw_care_names *of = &care->of[caution];
    if (!gap) {
        dw_buf__put(buf, text);
        return;
    }
    dw_buf__add(buf, text, (size_t)(gap - text));
    put_names(buf, of);
    if (caution == DW_CAUTION_SHORT) {
        dw_buf__put(buf, " (under ");
        dw_caution__limit(buf, DW_SHORT_PIECE, style);
        dw_buf__put(buf, of->wide ? " or the tube's width)" : ")");
    } else if (caution == DW_CAUTION_LONG) {
        dw_buf__put(buf, " (over ");
        dw_caution__limit(buf, DW_LONG_BAR, style);
        dw_buf__put(buf, ")");
    } else if (caution == DW_CAUTION_HEAVY) {
        dw_buf__put(buf, of->n > 1 || of->more ? " (up to " : " (");
        put_about(buf, of->heaviest_mg, style->unit);
        dw_buf__put(buf, ")");
    }
    dw_buf__put(buf, gap + 2);
}

void dw_caution__general(struct dw_buf *buf, enum dw_caution_place place)
{
    for (unsigned i = 0; i < DW_N_CAUTIONS; i++) {
        enum dw_caution caution = (enum dw_caution)i;
        if (dw_caution_shown(caution, place) && !dw_caution__names(caution))
            dw_buf__format(buf, "%s%s", buf->n ? " " : "", dw_caution_text(caution));
    }
}

void dw_care__put(struct dw_out *out, const char *key, const struct dw_care *care,
                  enum dw_caution_place place)
{
    dw_out__open(out, key, '[');
    for (unsigned i = 0; i < DW_N_CAUTIONS; i++) {
        enum dw_caution caution = (enum dw_caution)i;
        if (!dw_care__shows(care, caution, place))
            continue;
        struct dw_buf text = {0};
        dw_care__text(&text, care, caution, &out->style);
        dw_out__open(out, NULL, '{');
        dw_out__text(out, "caution", dw_caution_word(caution));
        dw_out__text(out, "text", text.text);
        dw_out__close(out, '{');
        out->buf->failed = out->buf->failed || text.failed;
        dw_buf__free(&text);
    }
    dw_out__close(out, '[');
}

void dw_caution__lift(struct dw_buf *buf, const char *lead, const struct dw_job *job,
                      const struct dw_supply *supply)
{
    dw_length length = supply->measured ? supply->measured : supply->length;
    int64_t mg = weigh(&job->materials[supply->material], length);
    if (mg < DW_HEAVY_MG)
        return;
    dw_buf__put(buf, lead);
    put_about(buf, mg, job->unit);
    dw_buf__put(buf, ": lift with help or a hoist");
}

void dw_caution__hold(struct dw_buf *buf, const struct dw_saw_piece *piece,
                      const struct dw_length_style *style)
{
    if (piece->short_of == 0)
        return;
    dw_buf__put(buf, "Under ");
    dw_caution__limit(buf, piece->short_of, style);
    dw_buf__put(buf, ", too short to hold by hand: use a vise or a fixture.");
}
