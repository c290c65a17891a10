/* SPDX-License-Identifier: GPL-3.0-or-later */
/* FNV-1a, 64 bits (Fowler, Noll, Vo; draft-eastlake-fnv), over what bears on the plan of a job:
 * saw, rules, materials, supplies, parts, their order and their names, and what suppliers charge.
 * Remarks, dates, places,
 * dimensions that no cut depends on and the way a length was written stay out. */
#include "base/base.h"
#include "model/charges.h"

#include <string.h>

#define FNV_BASIS UINT64_C(0xcbf29ce484222325)
#define FNV_PRIME UINT64_C(0x100000001b3)

/* Eight bytes, least significant first, on any machine. */
static void put(uint64_t *hash, uint64_t value)
{
    for (int shift = 0; shift < 64; shift += 8)
        *hash = (*hash ^ (value >> shift & 0xff)) * FNV_PRIME;
}

static void put_i64(uint64_t *hash, int64_t value)
{
    put(hash, (uint64_t)value);
}

/* An index, or DW_NONE, which is as wide as the machine's sizes. */
static void put_index(uint64_t *hash, size_t index)
{
    put(hash, index == DW_NONE ? UINT64_MAX : index);
}

/* Length first, so that "ab","c" differs from "a","bc"; no text differs from an empty one. */
static void put_text(uint64_t *hash, const char *text)
{
    if (!text) {
        put(hash, UINT64_MAX);
        return;
    }
    size_t n = strlen(text);
    put(hash, n);
    for (size_t i = 0; i < n; i++)
        *hash = (*hash ^ (unsigned char)text[i]) * FNV_PRIME;
}

/* What most jobs don't say has no place of its own: a job without it keeps its digest. */
static void put_said(uint64_t *hash, uint64_t what, int64_t value)
{
    if (value == 0)
        return;
    put(hash, UINT64_MAX - what);
    put_i64(hash, value);
}

static void put_material(uint64_t *hash, const struct dw_material *material)
{
    const struct dw_worth *worth = &material->worth;
    put_text(hash, material->id);
    put(hash, material->end_bent);
    put_i64(hash, worth->kind);
    put_i64(hash, worth->keep);
    put_i64(hash, worth->rate);
    put_i64(hash, worth->per);
    put_i64(hash, worth->share);
    put(hash, worth->n_classes);
    for (size_t i = 0; i < worth->n_classes; i++) {
        put_i64(hash, worth->classes[i].from);
        put_i64(hash, worth->classes[i].worth);
    }
}

static void put_supply(uint64_t *hash, const struct dw_supply *supply)
{
    put_text(hash, supply->id);
    put_index(hash, supply->material);
    put_i64(hash, supply->source);
    put_i64(hash, supply->length);
    put_i64(hash, supply->measured);
    put_i64(hash, supply->price);
    put_i64(hash, supply->count);
    put_i64(hash, supply->pack);
    put(hash, supply->n_breaks);
    for (size_t i = 0; i < supply->n_breaks; i++) {
        put_i64(hash, supply->breaks[i].from);
        put_i64(hash, supply->breaks[i].price);
    }
    put_i64(hash, supply->bend > 0 ? -1 : (int64_t)supply->ends[0]); /* bent: never squared */
    put_i64(hash, supply->ends[1]);
    put_i64(hash, supply->trim);
    put_i64(hash, supply->bend);
    put_index(hash, supply->tail_material);
}

static void put_part(uint64_t *hash, const struct dw_part *part)
{
    put_text(hash, part->label);
    put_text(hash, part->section);
    put_index(hash, part->order);
    put_i64(hash, part->min);
    put_i64(hash, part->max);
    put_i64(hash, part->count);
    put(hash, part->n_materials);
    for (size_t i = 0; i < part->n_materials; i++)
        put_index(hash, part->materials[i]);
    put(hash, part->post);
    put_i64(hash, part->worth);
    put(hash, part->measure_first);
    put_i64(hash, part->allowance);
    put_said(hash, 2, part->priority);
}

static void put_supplier(uint64_t *hash, const struct dw_supplier *supplier)
{
    put_text(hash, supplier->name);
    put_i64(hash, supplier->minimum);
    put_i64(hash, supplier->small_under);
    put_i64(hash, supplier->small_charge);
    put_i64(hash, supplier->cut_charge);
    put_i64(hash, supplier->cuts_a_pack);
    put_i64(hash, supplier->cuts_free);
    put_i64(hash, supplier->cut_minimum);
    put_i64(hash, supplier->freight);
    put_i64(hash, supplier->freight_free);
}

/* Suppliers that charge, whose bars are whose, and the fittings that count towards what they
 * charge. A job without has nothing of it. Fittings that can't be counted are refused elsewhere. */
static void put_charges(uint64_t *hash, const struct dw_job *job)
{
    if (!dw_job__is_charged(job))
        return;
    for (size_t s = 0; s < job->n_suppliers; s++)
        if (dw_supplier__charges(&job->suppliers[s]))
            put_supplier(hash, &job->suppliers[s]);
    for (size_t k = 0; k < job->n_supplies; k++)
        put_index(hash, dw_supply__charger(job, &job->supplies[k]));
    for (size_t f = 0; f < job->n_fittings; f++) {
        put_text(hash, job->fittings[f].supplier);
        put_i64(hash, job->fittings[f].price);
        put_i64(hash, job->fittings[f].joins);
        put_index(hash, job->fittings[f].bushing);
    }
    for (size_t i = 0; i < job->n_loose; i++) {
        put_index(hash, job->loose[i].fitting);
        put_i64(hash, job->loose[i].count);
    }
    for (size_t i = 0; i < job->n_parts; i++)
        for (size_t e = 0; job->parts[i].drawn && e < 2; e++)
            put_index(hash, job->parts[i].drawn->ends[e].fitting);
}

uint64_t dw_job_digest(const struct dw_job *job)
{
    uint64_t hash = FNV_BASIS;
    put_text(&hash, job->currency);
    put_i64(&hash, job->saw.kerf);
    put_i64(&hash, job->saw.grip);
    put_i64(&hash, job->saw.cut_cost);
    put_said(&hash, 1, job->saw.end_allowance);
    put_said(&hash, 3, job->saw.bar_cost);
    put_said(&hash, 4, job->saw.offcut_cost);
    put_i64(&hash, job->rules.max_new_offcuts);
    put(&hash, job->rules.no_middling);
    put_i64(&hash, job->rules.scrap_max);
    put_i64(&hash, job->rules.few_layouts_ppm);
    if (job->rules.most_pieces != DW_UNLIMITED)
        put_i64(&hash, job->rules.most_pieces);
    put(&hash, job->n_materials);
    for (size_t i = 0; i < job->n_materials; i++)
        put_material(&hash, &job->materials[i]);
    put(&hash, job->n_supplies);
    for (size_t i = 0; i < job->n_supplies; i++)
        put_supply(&hash, &job->supplies[i]);
    put(&hash, job->n_parts);
    for (size_t i = 0; i < job->n_parts; i++)
        put_part(&hash, &job->parts[i]);
    put_charges(&hash, job);
    return hash;
}
