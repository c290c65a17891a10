/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a job says of its sections' limits, of suppliers' terms, and of how to quote.
 *
 * Threads: any; nothing here changes but what the caller owns. */
#ifndef DROPWISE_TERMS_H
#define DROPWISE_TERMS_H

#include <dropwise/job.h>

#ifdef __cplusplus
extern "C" {
#endif

#define DW_PPM INT64_C(1000000) /* rates are parts per million: 8.25 % = 82 500 */

/* A section that is carried as one load. A limit of 0 is no limit. */
struct dw_section {
    const char *name;   /* as in dw_part.section */
    dw_length longest;  /* no piece longer than this */
    int64_t weight_mg;  /* no heavier than this */
    int64_t added_mg;   /* what it carries besides tube and is counted with it */
    dw_length size[3];  /* packed: length, width, height; 0 0 0 = not said */
    dw_length door[2];  /* width, height of an opening it must pass end on */
    dw_length van[3];   /* inside length, width, height it must lie in */
    dw_length riser[2]; /* floor it must stand on; its height is free */
    struct dw_place at;
};

/* Terms of one supplier, by the name used in dw_supply.supplier and dw_fitting.supplier. */
struct dw_supplier {
    const char *name;
    const char *address;   /* lines below its name, '\n' between them; NULL = not said */
    const char *customer;  /* what number the shop is there; NULL = not said */
    dw_money minimum;      /* goods are charged at least this; 0 = none */
    dw_money small_under;  /* goods under this ... */
    dw_money small_charge; /* ... pay this surcharge */
    dw_money cut_charge;   /* each cut that the supplier makes */
    int64_t cuts_a_pack;   /* cuts ordered for each pack bought of a supply of theirs */
    int64_t cuts_free;     /* of which so many are free, once an order */
    dw_money cut_minimum;  /* if any cut is charged, at least this */
    dw_money freight;
    dw_money freight_free;   /* goods from this on travel free; 0 = never */
    const char *price_date;  /* ISO 8601 date; NULL = not said */
    const char *valid_until; /* last day on which the prices hold; NULL = not said */
    struct dw_place at;
};

/* How tube is charged to a client. */
enum dw_charge_way {
    DW_CHARGE_BARS,    /* whole bars bought for the job */
    DW_CHARGE_USED,    /* length used, with kerf and trim */
    DW_CHARGE_PERCENT, /* length of the pieces plus a percentage */
};

enum dw_owner { DW_OWNER_CLIENT, DW_OWNER_SHOP };

/* Who bears the tube of a bar that no job's length used covers.
 *   BAR    the jobs cut from that bar, in proportion to the length each uses of it
 *   BATCH  all jobs of the batch that use the material, in proportion to the length each uses
 *   SHOP   the shop
 * Shares are rounded to the currency's minor unit by largest remainder, so they add up. */
enum dw_waste_rule { DW_WASTE_BAR, DW_WASTE_BATCH, DW_WASTE_SHOP };

/* Kinds of lines of a quote; each has its tax rate. X(name, word) */
#define DW_CHARGE_LIST(X)                                                                          \
    X(DW_LINE_TUBE, "tube")                                                                        \
    X(DW_LINE_WASTE, "waste")                                                                      \
    X(DW_LINE_CUTS, "cuts")                                                                        \
    X(DW_LINE_FITTINGS, "fittings")                                                                \
    X(DW_LINE_DELIVERY, "delivery")                                                                \
    X(DW_LINE_LABOUR, "labour")

enum dw_line_kind {
#define DW_CHARGE_ENUM(name, word) name,
    DW_CHARGE_LIST(DW_CHARGE_ENUM)
#undef DW_CHARGE_ENUM
        DW_N_LINE_KINDS
};
const char *dw_line_kind_word(enum dw_line_kind kind); /* borrowed */

struct dw_labour {
    const char *text;
    size_t order;
    int64_t milli_hours; /* 2.5 h = 2500 */
    dw_money rate;       /* an hour */
    bool net;            /* the rate is the selling price already: no markup on it */
    struct dw_place at;
};

enum dw_uplift { DW_UPLIFT_NONE, DW_UPLIFT_MARKUP, DW_UPLIFT_MARGIN };

#define DW_NO_TAX INT64_C(-1)

/* Markup is on cost, margin on price:  price = cost (1 + m)   or   price = cost / (1 - g), g < 1.
 */
struct dw_quote_terms {
    enum dw_charge_way way;
    int64_t percent_ppm; /* DW_CHARGE_PERCENT */
    enum dw_owner offcuts;
    enum dw_waste_rule waste;
    enum dw_uplift uplift;
    int64_t uplift_ppm;
    int64_t tax_ppm[DW_N_LINE_KINDS]; /* DW_NO_TAX = not taxed; there is no default rate */
    const char *tax_name;             /* "VAT", "sales tax"; NULL = "tax" */
    dw_money round_to;  /* each printed price to a multiple of this; 0 = the minor unit */
    int64_t valid_days; /* 0 = no validity stated */
    size_t n_labour;
    const struct dw_labour *labour; /* length n_labour */
    struct dw_place at;
};

/* Bars whole, offcuts the client's, waste by bar, no uplift, no tax. */
void dw_quote_terms_default(struct dw_quote_terms *terms);

/* All that is wrong or doubtful in fittings, sections, suppliers and quote terms. Called by
 * dw_job_check. */
dw_err dw_terms_check(const struct dw_job *job, struct dw_report *report, struct dw_error *error);

#ifdef __cplusplus
}
#endif
#endif
