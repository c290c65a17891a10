# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds orders and quotes against the plan, line by line and to the last cent, on paper and as data."""

import csv
import io
import re
from fractions import Fraction

import expect
import read_paper
from amounts import read_length, read_money, round_half_up, write_money
from check_papers import plain
from check_shares import check_tube_shares

PPM = 10**6
CENT = 100


# --- order ---------------------------------------------------------------------------------------

def money_tokens(text, currency):
    """All sums of money in a text, in order."""
    return [read_money(match) for match in re.findall(rf"(-?\d+\.\d{{2,4}}) {currency}\b", text)]


def same_lines(report, job, supplier, right, said):
    """The lines of one supplier."""
    right = sorted(right, key=lambda line: (line[0], line[1] or ""))
    rows = sorted(((row["kind"], row["item"], row["quantity"], read_money(row["amount"])) for row in said),
                  key=lambda line: (line[0], line[1] or ""))
    report.same("order: lines", f"supplier {supplier}", right, rows)


def check_order_data(report, job, plan, order, fittings=True):
    """The order as data against what the plan buys."""
    bought = {row["supply"]["id"]: row["bought"] for row in plan.document["takes"]}
    right = expect.order_lines(job, bought, fittings)
    said = {row["name"]: row for row in order["suppliers"]}
    report.same("order: suppliers", "suppliers", sorted(map(str, right)), sorted(map(str, said)))
    sums = {"bars": 0, "fittings": 0, "charges": 0}
    for name, lines in right.items():
        if name not in said:
            continue
        same_lines(report, job, name, lines, said[name]["lines"])
        total = sum(line[3] for line in lines)
        report.same("order: a supplier's total", f"supplier {name}", total, read_money(said[name]["total"]))
        for kind, _, _, amount in lines:
            sums[{"bars": "bars", "fitting": "fittings"}.get(kind, "charges")] += amount
        check_packs(report, job, plan, said[name]["lines"])
        check_tubes(report, job, said[name]["lines"])
    for name, amount in sums.items():
        report.same(f"order: {name}", "sums", amount, read_money(order[name]))
    check_paid(report, "order", plan, order["paid"])
    report.same("order: total", "sums", sum(sums.values()), read_money(order["total"]))
    report.same("order: bars as in the plan", "sums", plan.totals()["bars"], read_money(order["bars"]))


def check_tubes(report, job, lines):
    """A line of bars names the tube with alloy and finish."""
    for line in lines:
        bar = next((one for one in job.supplies if line["kind"] == "bars" and one.id == line["item"]), None)
        tube = bar and job.material(bar.material)
        for words in (tube.name, tube.alloy, tube.finish) if tube else ():
            if words and words not in line["text"]:
                report.say("order: tube of a line", line["item"], words, line["text"])


def check_packs(report, job, plan, lines):
    for line in lines:
        if line["kind"] != "bars":
            continue
        bar = next(one for one in job.supplies if one.id == line["item"])
        used = sum(one.supply.id == bar.id for one in plan.bars)
        right = (bar.pack, line["quantity"] // bar.pack, line["quantity"] - used)
        report.same("order: packs and spare bars", bar.id, right, (line["pack"], line["packs"], line["spare"]))


def check_order_csv(report, job, order, text):
    """The table says what the data say."""
    every = list(csv.DictReader(io.StringIO(text.lstrip("\ufeff"))))
    rows = [row for row in every if row["kind"] not in ("caution", "note")]
    report.same("order: table's notes", "csv", order["notes"], [row["description"] for row in every if row["kind"] == "note"])
    report.same("order: table's cautions", "csv", [one["text"] for one in order["cautions"]],
                [row["description"] for row in every if row["kind"] == "caution"])
    right = [(supplier["name"] or "", line["kind"], line["item"] or "", str(line["quantity"]),
              line["amount"]) for supplier in order["suppliers"] for line in supplier["lines"]]
    said = [(row["supplier"], row["kind"], row["item"], row["quantity"], row["amount"]) for row in rows]
    report.same("order: table", "csv", right, said)
    lengths = [line["length"] for supplier in order["suppliers"] for line in supplier["lines"]]
    for row, length in zip(rows, lengths):
        column = next((key for key in row if key.startswith("length, ")), None)
        if length and column:
            said = read_length(row[column], column.split(", ")[1], 0)
            if abs(said.nm - int(length["nm"])) > 1000:
                report.say("order: table's lengths", row["item"], length["nm"], row[column])


LETTER_RIGHT = 190  # mm: where a letter's amounts end
EACH_RIGHT = 159  # and an order's unit prices


def as_printed(amounts):
    """Sums to the cent that add up to their rounded sum: what is cut off goes to the largest rests, the first first."""
    shown = [amount - amount % CENT for amount in amounts]
    total = round_half_up(sum(amounts), CENT)
    while sum(shown) < total:
        rests = [amount - one for amount, one in zip(amounts, shown)]
        shown[rests.index(max(rests))] += CENT
    return shown + [total]


def read_letter(path, currency):
    """Amounts, unit prices and the text of an order or a client's quote."""
    return {"text": read_paper.text_of(path),
            "amounts": [read_money(one) for one in read_paper.amounts_of(path, LETTER_RIGHT, currency)],
            "each": [read_money(one) for one in read_paper.amounts_of(path, EACH_RIGHT, "-")]}


def check_order_paper(report, job, order, paper):
    """The paper has each supplier's page with the same sums in the same order."""
    right, each = [], []
    for supplier in order["suppliers"]:
        right += as_printed([read_money(line["amount"]) for line in supplier["lines"]])
        each += [read_money(line["price_each"]) for line in supplier["lines"] if line["kind"] in ("bars", "fitting", "cuts")]
        if round_half_up(read_money(supplier["total"]), CENT) != right[-1]:
            report.say("order: a supplier's total", supplier["name"], write_money(right[-1]), supplier["total"])
        if supplier["name"] and supplier["name"] not in paper["text"]:
            report.say("order: paper's supplier", supplier["name"], "on the paper", "not there")
    report.same("order: paper's sums", "pdf", right, paper["amounts"])
    report.same("order: paper's unit prices", "pdf", each, paper["each"])


# --- quote ---------------------------------------------------------------------------------------

def uplifted(terms, cost, net):
    """Price of a cost, rounded once, to what the job says or the cent."""
    factor = 1
    if not net and "markup" in terms:
        factor = Fraction(PPM + terms["markup"], PPM)
    if not net and "margin" in terms:
        factor = Fraction(PPM, PPM - terms["margin"])
    return round_half_up(cost * factor, terms["round to"] or CENT)


def check_quote_job(report, job, row):
    """Lines of one client: price of each cost, tax of each price, and the sums."""
    terms, place = job.quote, f"job {row['job']}"
    price = tax = cost = charged = 0
    for line in row["lines"]:
        here = f"{place}, {line['kind']}: {line['text']}"
        amounts = {key: read_money(line[key]) for key in ("cost", "price", "tax")}
        report.same("quote: price of a cost", here, uplifted(terms, amounts["cost"], False), amounts["price"])
        rate = (terms["tax"] or {}).get(line["kind"])
        right = round_half_up(Fraction(amounts["price"] * (rate or 0), PPM), CENT)
        report.same("quote: tax", here, right, amounts["tax"])
        price, tax, cost = price + amounts["price"], tax + amounts["tax"], cost + amounts["cost"]
        charged += amounts["cost"] if line["kind"] != "labour" else 0
    right = (price, tax, price + tax, cost, charged)
    said = tuple(read_money(row[key]) for key in ("price", "tax", "total", "cost", "charged"))
    report.same("quote: sums of a job", place, right, said)


def check_labour(report, job, quote):
    for index, row in enumerate(quote["jobs"]):
        right = [round_half_up(Fraction(milli * rate, 1000), CENT)
                 for _, milli, rate, order in job.quote["labour"] if order == index]
        said = [read_money(line["cost"]) for line in row["lines"] if line["kind"] == "labour"]
        report.same("quote: labour", f"job {row['job']}", right, said)


def paid_for(plan):
    """What was paid for each piece of the shelf that a plan uses; nothing for one of which that is not known."""
    return {bar.supply.id: bar.supply.book or 0 for bar in plan.bars if bar.supply.source != "new"}


def check_paid(report, what, plan, rows):
    """What an output says was paid for each piece of the shelf, and where that is known from."""
    paid, right = paid_for(plan), {}
    for bar in plan.bars:
        if bar.supply.id in paid:
            right[bar.supply.id] = right.get(bar.supply.id, 0) + paid[bar.supply.id]
    report.same(f"{what}: paid for pieces of the shelf", "paid", right, {row["piece"]: read_money(row["paid"]) for row in rows})
    known = {bar.supply.id: bar.supply for bar in plan.bars}
    for row in rows:
        one = known.get(row["piece"])
        if one is None:
            continue
        where = ("the client's own" if one.owner else one.paid_from) if one.counted else \
            "given in the job file" if one.book is not None else "no book value is given"
        report.same(f"{what}: where a book value comes from", row["piece"], where, row["from"])


def check_spent(report, job, plan, order, quote):
    """Spent is what was paid: the order, the book value of the shelf's pieces, and the cuts. Returns the prices
    that the quote goes by: what was paid, {number: money}; nothing where it goes by what the plan counts."""
    spent, charged, shop = (read_money(quote[key]) for key in ("spent", "charged", "shop_bears"))
    report.same("quote: charged and borne add up to spent", "sums", spent, charged + shop)
    report.same("quote: charged is the sum of the jobs", "sums", charged,
                sum(read_money(row["charged"]) for row in quote["jobs"]))
    paid, counted = paid_for(plan), plan.totals()["taken"]
    others = read_money(order["total"]) + plan.totals()["cuts"]
    book = sum(paid[bar.supply.id] for bar in plan.bars if bar.supply.id in paid)
    if spent == round_half_up(others + book, CENT):
        return paid
    if spent == round_half_up(others + counted, CENT):
        report.say("quote: planning price charged as book value", "spent",
                   f"book value of what is used {write_money(book)}", f"counted {write_money(counted)}")
    else:
        report.say("quote: spent", "sums", f"right {write_money(others + book)}", f"said {write_money(spent)}")
    return {}


def check_client_view(report, job, quote, public, name):
    """A client sees the same prices, and no cost."""
    rows = [row for row in quote["jobs"] if name in (None, row["job"])]
    keys = ("kind", "text", "quantity", "price", "tax_rate", "tax")
    right = [([tuple(line[key] for key in keys) for line in row["lines"]], row["price"], row["tax"], row["total"])
             for row in rows]
    said = [([tuple(line[key] for key in keys) for line in row["lines"]], row["price"], row["tax"], row["total"])
            for row in public["jobs"]]
    report.same("quote: client's view", str(name), right, said)
    text = str(public)
    for word in ("'cost'", "'charged'", "'spent'", "'uplift'", "'shop_bears'"):
        if word in text:
            report.say("quote: cost shown to the client", str(name), "no cost", word)


def check_private_paper(report, job, quote, text):
    """Sums on the paper, in order: of each line, of each job, and what was spent."""
    right = []
    for row in quote["jobs"]:
        for line in row["lines"]:
            right += [read_money(line["cost"]), read_money(line["price"])] + ([read_money(line["tax"])] if line["tax_rate"] else [])
        right += [read_money(row[key]) for key in ("cost", "price", "tax", "total")]
    right += [read_money(quote[key]) for key in ("spent", "charged", "shop_bears")]
    text = plain(text).replace(f"rounded to 0.01 {job.currency} by", "")
    report.same("quote: paper's sums", "pdf for the shop", right, money_tokens(text, job.currency))


SHARE = ", share of what the bars leave"


def tube_of(line, lines):
    """The line of tube that a line of waste is counted with on a client's paper; None: it stands alone."""
    name = line["text"].removesuffix(SHARE) if line["kind"] == "waste" else None
    found = [one for one in lines if name is not None and one["kind"] == "tube" and
             one["text"].startswith(name + ", ") and one["tax_rate"] == line["tax_rate"]]
    return min(found, key=lambda one: len(one["text"]), default=None)  # another one's name may go on with its alloy


def check_client_paper(report, job, quote, paper, name):
    """Sums on a client's paper, in order: of each line, net, each tax, total to pay."""
    row = next(one for one in quote["jobs"] if name in (None, one["job"]))
    sums, rates = [], {}
    for line in row["lines"]:
        rest = sum(read_money(one["price"]) for one in row["lines"] if tube_of(one, row["lines"]) is line)
        sums += [read_money(line["price"]) + rest] if tube_of(line, row["lines"]) is None else []
        if line["tax_rate"]:
            rates[line["tax_rate"]] = rates.get(line["tax_rate"], 0) + read_money(line["tax"])
    taxed = read_money(row["tax"]) != 0
    right = sums + ([read_money(row["price"])] if taxed else []) + list(rates.values()) + [read_money(row["total"])]
    report.same("quote: paper's sums", f"pdf of {name}", right, paper["amounts"])
    for word in ("cost", "margin", "markup"):
        if re.search(rf"\b{word}\b", paper["text"], re.IGNORECASE):
            report.say("quote: cost shown to the client", f"pdf of {name}", "no cost", word)


def check_quote(report, job, plan, order, quote):
    report.same("quote: jobs", "jobs", [name for name, _, _ in job.orders], [row["job"] for row in quote["jobs"]])
    report.same("quote: clients", "jobs", [client for _, client, _ in job.orders], [row["client"] for row in quote["jobs"]])
    for row in quote["jobs"]:
        check_quote_job(report, job, row)
    check_labour(report, job, quote)
    paid = check_spent(report, job, plan, order, quote)
    check_paid(report, "quote", plan, quote["paid"])
    check_tube_shares(report, job, plan, quote, paid)
