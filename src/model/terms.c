/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fittings, sections' limits, suppliers' terms and quote terms: what is wrong with them as data. */
#include "model/model.h"
#include "base/base.h"

#include <string.h>

void dw_quote_terms_default(struct dw_quote_terms *terms)
{
    *terms = (struct dw_quote_terms){.way = DW_CHARGE_BARS,
                                     .offcuts = DW_OWNER_CLIENT,
                                     .waste = DW_WASTE_BAR,
                                     .uplift = DW_UPLIFT_NONE};
    for (int i = 0; i < DW_N_LINE_KINDS; i++)
        terms->tax_ppm[i] = DW_NO_TAX;
}

/* Adds remarks at one place; the first failure sticks. */
struct teller {
    const struct dw_job *job;
    struct dw_report *report;
    const struct dw_place *at;
    dw_err err;
};

#define TELL(t, severity, ...)                                                                     \
    ((t)->err = (t)->err ? (t)->err                                                                \
                         : dw_report__add((t)->report, (severity), (t)->at->file, (t)->at->line,   \
                                          (t)->at->column, __VA_ARGS__))

static bool money_fits(dw_money money)
{
    return money >= 0 && money <= DW_MONEY_MAX;
}

static bool length_fits(dw_length length)
{
    return length >= 0 && length <= DW_LENGTH_MAX;
}

/* --- fittings -------------------------------------------------------------------------------- */

static void check_ods(struct teller *t, const struct dw_fitting *fitting, size_t n,
                      const dw_length *ods)
{
    for (size_t i = 0; i < n; i++) {
        if (ods[i] <= 0 || ods[i] > DW_LENGTH_MAX)
            TELL(t, DW_WRONG, "fitting %s: an outside diameter is more than 0", fitting->id);
    }
}

static void check_fitting(struct teller *t, size_t i)
{
    const struct dw_fitting *fitting = &t->job->fittings[i];
    t->at = &fitting->at;
    if (!length_fits(fitting->take_out) || !length_fits(fitting->insert) ||
        !length_fits(fitting->overhang))
        TELL(t, DW_WRONG, "fitting %s: take-out, insert and overhang are not negative",
             fitting->id);
    if (fitting->half_ods < 0 || fitting->half_ods > 4)
        TELL(t, DW_WRONG, "fitting %s: stops short by 0 to 2 outside diameters", fitting->id);
    if (fitting->from != DW_REF_CENTRE && fitting->from != DW_REF_OUTSIDE)
        TELL(t, DW_WRONG, "fitting %s: its take-out counts from centre or outside", fitting->id);
    if (fitting->joins < 1 || fitting->joins > 100)
        TELL(t, DW_WRONG, "fitting %s: joins 1 to 100 ends", fitting->id);
    if (!money_fits(fitting->price))
        TELL(t, DW_WRONG, "fitting %s: the price is 0 or more", fitting->id);
    if (fitting->bushing != DW_NONE &&
        (fitting->bushing >= t->job->n_fittings || fitting->bushing == i))
        TELL(t, DW_WRONG, "fitting %s: its bushing is another fitting of the table", fitting->id);
    check_ods(t, fitting, fitting->n_ods, fitting->ods);
    check_ods(t, fitting, fitting->n_bushed, fitting->bushed);
    for (size_t k = 0; k < i; k++) {
        if (strcmp(t->job->fittings[k].id, fitting->id) == 0)
            TELL(t, DW_WRONG, "fitting %s is listed twice", fitting->id);
    }
}

static void check_loose(struct teller *t, const struct dw_loose *loose)
{
    t->at = &loose->at;
    if (loose->fitting >= t->job->n_fittings)
        TELL(t, DW_WRONG, "a loose fitting is one of the fittings table");
    if (loose->order >= t->job->n_orders)
        TELL(t, DW_WRONG, "a loose fitting belongs to one of the job's orders");
    if (loose->count < 1 || loose->count > DW_MAX_PIECES)
        TELL(t, DW_WRONG, "the count of a loose fitting is 1 to 2 000 000");
}

/* --- sections -------------------------------------------------------------------------------- */

static bool given(const dw_length *sizes, int n)
{
    for (int i = 0; i < n; i++) {
        if (sizes[i])
            return true;
    }
    return false;
}

static bool all_positive(const dw_length *sizes, int n)
{
    for (int i = 0; i < n; i++) {
        if (sizes[i] <= 0 || sizes[i] > DW_LENGTH_MAX)
            return false;
    }
    return true;
}

static bool section_used(const struct dw_job *job, const char *name)
{
    for (size_t i = 0; i < job->n_parts; i++) {
        if (job->parts[i].section && strcmp(job->parts[i].section, name) == 0)
            return true;
    }
    return false;
}

static void check_section(struct teller *t, size_t i)
{
    const struct dw_section *section = &t->job->sections[i];
    t->at = &section->at;
    if (!length_fits(section->longest) || section->weight_mg < 0 || section->added_mg < 0)
        TELL(t, DW_WRONG, "section %s: a limit is not negative", section->name);
    if ((given(section->size, 3) && !all_positive(section->size, 3)) ||
        (given(section->door, 2) && !all_positive(section->door, 2)) ||
        (given(section->van, 3) && !all_positive(section->van, 3)) ||
        (given(section->riser, 2) && !all_positive(section->riser, 2)))
        TELL(t, DW_WRONG, "section %s: every side of size, door, van and riser is more than 0",
             section->name);
    bool spaces = given(section->door, 2) || given(section->van, 3) || given(section->riser, 2);
    if (spaces && !given(section->size, 3))
        TELL(t, DW_WRONG,
             "section %s: give its packed size (length x width x height) to check door, van or "
             "riser",
             section->name);
    if (!section_used(t->job, section->name))
        TELL(t, DW_DOUBT, "section %s: no part is of it", section->name);
    for (size_t k = 0; k < i; k++) {
        if (strcmp(t->job->sections[k].name, section->name) == 0)
            TELL(t, DW_WRONG, "section %s is listed twice", section->name);
    }
}

/* --- suppliers ------------------------------------------------------------------------------- */

static bool supplier_used(const struct dw_job *job, const char *name)
{
    for (size_t i = 0; i < job->n_supplies; i++) {
        if (job->supplies[i].supplier && strcmp(job->supplies[i].supplier, name) == 0)
            return true;
    }
    for (size_t i = 0; i < job->n_fittings; i++) {
        if (job->fittings[i].supplier && strcmp(job->fittings[i].supplier, name) == 0)
            return true;
    }
    return false;
}

static void check_dates(struct teller *t, const struct dw_supplier *supplier)
{
    bool dated = !supplier->price_date || dw_date__check(supplier->price_date);
    bool limited = !supplier->valid_until || dw_date__check(supplier->valid_until);
    if (!dated || !limited)
        TELL(t, DW_WRONG, "supplier %s: dates are written 2026-03-01", supplier->name);
    else if (supplier->price_date && supplier->valid_until &&
             strcmp(supplier->valid_until, supplier->price_date) < 0)
        TELL(t, DW_WRONG, "supplier %s: prices of %s can't end on %s", supplier->name,
             supplier->price_date, supplier->valid_until);
}

static void check_supplier(struct teller *t, size_t i)
{
    const struct dw_supplier *supplier = &t->job->suppliers[i];
    t->at = &supplier->at;
    const dw_money amounts[] = {
        supplier->minimum,     supplier->small_under, supplier->small_charge, supplier->cut_charge,
        supplier->cut_minimum, supplier->freight,     supplier->freight_free};
    for (size_t k = 0; k < DW_COUNT(amounts); k++) {
        if (!money_fits(amounts[k])) {
            TELL(t, DW_WRONG, "supplier %s: charges are 0 or more", supplier->name);
            break;
        }
    }
    if (supplier->cuts_a_pack < 0 || supplier->cuts_a_pack > 1000 || supplier->cuts_free < 0 ||
        supplier->cuts_free > DW_MAX_PIECES)
        TELL(t, DW_WRONG, "supplier %s: cuts a pack are 0 to 1000, free cuts 0 to 2 000 000",
             supplier->name);
    check_dates(t, supplier);
    if (!supplier_used(t->job, supplier->name))
        TELL(t, DW_DOUBT, "supplier %s: nothing is bought of them", supplier->name);
    for (size_t k = 0; k < i; k++) {
        if (strcmp(t->job->suppliers[k].name, supplier->name) == 0)
            TELL(t, DW_WRONG, "supplier %s is listed twice", supplier->name);
    }
}

/* --- quote ----------------------------------------------------------------------------------- */

static void check_ways(struct teller *t, const struct dw_quote_terms *terms)
{
    if (terms->way == DW_CHARGE_BARS && terms->waste == DW_WASTE_SHOP)
        TELL(t, DW_WRONG,
             "quote: whole bars are charged, so the shop bears no waste; share it by "
             "bar or by batch");
    if (terms->way == DW_CHARGE_PERCENT && terms->waste != DW_WASTE_SHOP)
        TELL(t, DW_WRONG,
             "quote: the percentage stands for the waste; sharing it too would charge "
             "it twice");
    if (terms->way == DW_CHARGE_PERCENT && terms->offcuts == DW_OWNER_CLIENT)
        TELL(t, DW_WRONG, "quote: by length used plus a percentage the offcuts are the shop's");
    if (terms->way == DW_CHARGE_USED && terms->waste == DW_WASTE_SHOP &&
        terms->offcuts == DW_OWNER_CLIENT)
        TELL(t, DW_WRONG, "quote: offcuts that the shop bears are the shop's");
    if (terms->percent_ppm < 0 || terms->percent_ppm > 10 * DW_PPM)
        TELL(t, DW_WRONG, "quote: the percentage is 0 to 1000 %%");
}

static void check_uplift(struct teller *t, const struct dw_quote_terms *terms)
{
    if (terms->uplift_ppm < 0)
        TELL(t, DW_WRONG, "quote: markup or margin is 0 or more");
    if (terms->uplift == DW_UPLIFT_MARGIN && terms->uplift_ppm >= DW_PPM)
        TELL(t, DW_WRONG,
             "quote: a margin is under 100 %% of the price; a markup on cost may be "
             "more");
    if (terms->uplift == DW_UPLIFT_MARKUP && terms->uplift_ppm > 100 * DW_PPM)
        TELL(t, DW_WRONG, "quote: a markup is at most 10 000 %%");
}

static void check_labour(struct teller *t, const struct dw_quote_terms *terms)
{
    for (size_t i = 0; i < terms->n_labour; i++) {
        const struct dw_labour *labour = &terms->labour[i];
        t->at = &labour->at;
        if (labour->order >= t->job->n_orders)
            TELL(t, DW_WRONG, "labour belongs to one of the job's orders");
        if (labour->milli_hours <= 0 || labour->milli_hours > INT64_C(100000000))
            TELL(t, DW_WRONG, "labour: hours are more than 0 and at most 100 000");
        if (!money_fits(labour->rate))
            TELL(t, DW_WRONG, "labour: the rate an hour is 0 or more");
    }
}

static void check_quote(struct teller *t, const struct dw_quote_terms *terms)
{
    t->at = &terms->at;
    check_ways(t, terms);
    check_uplift(t, terms);
    for (int i = 0; i < DW_N_LINE_KINDS; i++) {
        if (terms->tax_ppm[i] != DW_NO_TAX && (terms->tax_ppm[i] < 0 || terms->tax_ppm[i] > DW_PPM))
            TELL(t, DW_WRONG, "quote: the tax on %s is 0 to 100 %%",
                 dw_line_kind_word((enum dw_line_kind)i));
    }
    if (!money_fits(terms->round_to))
        TELL(t, DW_WRONG, "quote: prices are rounded to 0 or more");
    if (terms->valid_days < 0 || terms->valid_days > 3660)
        TELL(t, DW_WRONG, "quote: it is valid for 1 to 3660 days");
    check_labour(t, terms);
}

dw_err dw_terms__check_quote(const struct dw_job *job, const struct dw_quote_terms *terms,
                             struct dw_report *report, struct dw_error *error)
{
    size_t wrong = report->n_wrong;
    struct teller t = {.job = job, .report = report, .at = &terms->at};
    check_quote(&t, terms);
    if (t.err)
        return dw_error__nomem(error);
    if (report->n_wrong > wrong)
        return dw_error__set(error, DW_ERR_INPUT, "the quote terms are refused; see the list");
    return DW_OK;
}

dw_err dw_terms_check(const struct dw_job *job, struct dw_report *report, struct dw_error *error)
{
    static const struct dw_place nowhere = {0};
    size_t wrong = report->n_wrong;
    struct teller t = {.job = job, .report = report, .at = &nowhere};
    for (size_t i = 0; i < job->n_fittings; i++)
        check_fitting(&t, i);
    for (size_t i = 0; i < job->n_loose; i++)
        check_loose(&t, &job->loose[i]);
    for (size_t i = 0; i < job->n_sections; i++)
        check_section(&t, i);
    for (size_t i = 0; i < job->n_suppliers; i++)
        check_supplier(&t, i);
    if (job->quote)
        check_quote(&t, job->quote);
    if (t.err)
        return dw_error__nomem(error);
    if (report->n_wrong > wrong)
        return dw_error__set(error, DW_ERR_INPUT,
                             "fittings, sections or terms are refused; see "
                             "the list");
    return DW_OK;
}
