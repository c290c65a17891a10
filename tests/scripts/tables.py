# SPDX-License-Identifier: GPL-3.0-or-later
"""Reads the tables of a plan, take-off, order and quote as a stranger does, and holds every figure
against the documents: XLSX by the standard library's ZIP and XML (ECMA-376 Part 1, 18.3 worksheets,
18.8 styles), CSV by its csv module. Sums are worked out from their formulas."""
import csv
import datetime
import json
import re
import sys
import zipfile
from fractions import Fraction
from xml.etree import ElementTree

MAIN = '{http://schemas.openxmlformats.org/spreadsheetml/2006/main}'
LINK = '{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id'
wrong = []


def same(what, got, wanted):
    if got != wanted:
        wrong.append(f'{what}: {got!r} instead of {wanted!r}')


def near(what, got, wanted):
    if got is None or abs(float(got) - float(wanted)) > 1e-9 * max(1.0, abs(float(wanted))):
        wrong.append(f'{what}: {got!r} instead of {wanted!r}')


# --- the file ---------------------------------------------------------------------------------------

def place_of(reference):
    letters, row = re.fullmatch(r'([A-Z]+)(\d+)', reference).groups()
    column = 0
    for letter in letters:
        column = column * 26 + ord(letter) - 64
    return int(row) - 1, column - 1


class Sheet:
    def __init__(self, name, tree, strings, pictures):
        self.name, self.tree, self.cells, self.formulas, self.pictures = name, tree, {}, {}, {}
        for cell in tree.iter(MAIN + 'c'):
            value = cell.find(MAIN + 'v')
            if value is None:
                continue
            at = place_of(cell.get('r'))
            text = cell.get('t') == 's'
            self.cells[at] = strings[int(value.text)] if text else float(value.text)
            self.pictures[at] = pictures[int(cell.get('s', '0'))]
            formula = cell.find(MAIN + 'f')
            if formula is not None:
                self.formulas[at] = formula.text
            if self.pictures[at] == 'yyyy\\-mm\\-dd':
                day = datetime.date(1899, 12, 30) + datetime.timedelta(days=int(self.cells[at]))
                self.cells[at] = day.isoformat()
        self.titles = [self.cells.get((0, c)) for c in range(1 + max(c for r, c in self.cells if r == 0))]

    def column(self, title):
        return self.titles.index(title)

    def rows(self, n):
        """The first n rows below the heads, as dicts without what is empty."""
        return [{title: self.cells[(r, c)] for c, title in enumerate(self.titles) if (r, c) in self.cells}
                for r in range(1, n + 1)]

    def texts(self):
        return [value for value in self.cells.values() if isinstance(value, str)]


class Book:
    def __init__(self, path):
        parts = zipfile.ZipFile(path)
        read = lambda name: ElementTree.fromstring(parts.read(name))
        strings = [''.join(t.text or '' for t in one.iter(MAIN + 't'))
                   for one in read('xl/sharedStrings.xml').iter(MAIN + 'si')]
        styles = read('xl/styles.xml')
        own = {one.get('numFmtId'): one.get('formatCode') for one in styles.iter(MAIN + 'numFmt')}
        pictures = [own.get(one.get('numFmtId'), one.get('numFmtId'))
                    for one in styles.find(MAIN + 'cellXfs')]
        files = {one.get('Id'): one.get('Target') for one in read('xl/_rels/workbook.xml.rels')}
        book = read('xl/workbook.xml')
        self.sheets = [Sheet(one.get('name'), read('xl/' + files[one.get(LINK)]), strings, pictures)
                       for one in book.iter(MAIN + 'sheet')]
        self.heads = [one.text for one in book.iter(MAIN + 'definedName')
                      if one.get('name') == '_xlnm.Print_Titles']

    def sheet(self, name):
        return next(one for one in self.sheets if one.name == name)

    def work_out(self, sheet, at):
        """A cell's value, of a formula anew."""
        formula = sheet.formulas.get(at)
        if formula is None:
            return sheet.cells.get(at, 0.0)
        of = re.fullmatch(r'SUM\(([A-Z]+\d+):([A-Z]+\d+)\)', formula)
        if of:
            (top, column), (bottom, last) = place_of(of.group(1)), place_of(of.group(2))
            same(f'{sheet.name}: columns of {formula}', (column, last), (at[1], at[1]))
            same(f'{sheet.name}: rows of {formula}', (top, bottom), (1, at[0] - 1))
            return sum(self.work_out(sheet, (r, column)) for r in range(top, bottom + 1)
                       if not isinstance(sheet.cells.get((r, column), 0.0), str))
        of = re.fullmatch(r"'((?:[^']|'')+)'!([A-Z]+\d+)", formula)
        other = self.sheet(of.group(1).replace("''", "'"))
        return self.work_out(other, place_of(of.group(2)))


def check_book(book, title, wide):
    same('heads that repeat', len(book.heads), len(book.sheets))
    for sheet in book.sheets:
        for at in sheet.formulas:
            near(f'{sheet.name} {at}', book.work_out(sheet, at), sheet.cells[at])
        setup = sheet.tree.find(MAIN + 'pageSetup')
        same(f'{sheet.name}: pages down', setup.get('fitToHeight'), '0')
        same(f'{sheet.name}: fit', sheet.tree.find(f'{MAIN}sheetPr/{MAIN}pageSetUpPr').get('fitToPage'), '1')
        same(f'{sheet.name}: head', sheet.tree.find(f'{MAIN}headerFooter/{MAIN}oddHeader').text,
             '&L' + title.replace('&', '&&'))
        same(f'{sheet.name}: foot', '&P' in sheet.tree.find(f'{MAIN}headerFooter/{MAIN}oddFooter').text, True)
        same(f'{sheet.name}: lies', setup.get('orientation') == 'landscape', sheet.name in wide)
        same(f'{sheet.name}: name', len(sheet.name) <= 31 and not re.search(r"[\[\]:*?/\\]|^'|'$", sheet.name), True)


def total(book, sheet, title, n):
    """The sum below n rows: its value, by a formula where there is something to sum."""
    at = (n + 1, sheet.column(title))
    same(f'{sheet.name}: {title} is summed by a formula', at in sheet.formulas, n > 0)
    return sheet.cells.get(at)


# --- CSV --------------------------------------------------------------------------------------------

def check_csv(path, sheet, n):
    """The same rows as in the book, exactly, and nothing that a spreadsheet would run."""
    rows = list(csv.reader(open(path, encoding='utf-8-sig', newline='')))
    same(f'{path}: heads', rows[0], sheet.titles)
    for r, row in enumerate(rows[1:n + 1], 1):
        for c, text in enumerate(row):
            wanted = sheet.cells.get((r, c), '')
            if isinstance(wanted, float):
                same(f'{path} {r},{c}', float(text), wanted)
            elif wanted and wanted[0] in '=+-@\t\r\n':
                same(f'{path} {r},{c}', text, "'" + wanted)
            else:
                same(f'{path} {r},{c}', text, wanted)
    for row in rows:
        for text in row:
            if re.match(r'[=+@]|-(?![\d.])', text):
                wrong.append(f'{path}: {text!r} begins as a formula')


# --- against the documents ---------------------------------------------------------------------------

def mm(length):
    return float(Fraction(length['nm'], 10 ** 6))


def check_length(what, row, title, length, inches):
    same(f'{what} {title}, mm', row.get(title + ', mm'), mm(length))
    if inches:
        near(f'{what} {title}, in', row.get(title + ', in'), round(Fraction(length['nm'], 25400000), 6))


def check_plan(folder, kerf_nm, inches, title):
    book = Book(f'{folder}/plan.xlsx')
    plan = json.load(open(f'{folder}/plan.json'))
    takeoff = sum(layout['count'] for layout in plan['layouts'])
    same('sheets of a plan', [one.name for one in book.sheets], ['bars', 'pieces', 'take', 'money'])
    check_book(book, title, {'bars', 'pieces', 'take'})
    bars, pieces, take, money = book.sheets
    n = len(plan['layouts'])
    marks = []
    for row, layout in zip(bars.rows(n), plan['layouts']):
        what = f'bar {layout["bar"]}'
        same(what, (row['bar'], row['bars'], row['supply'], row['becomes']),
             (layout['bar'], layout['count'], layout['supply']['id'], layout['rest']))
        check_length(what, row, 'left', layout['leftover'], inches)
        running, number = 0, 0
        many = sum(piece['count'] for piece in layout['pieces'])
        same(what + ' pieces', row['pieces a bar'], many)
        for piece in layout['pieces']:
            for _ in range(piece['count']):
                running += piece['length']['nm'] + (kerf_nm if number else 0)
                number += 1
                marks.append((layout, piece, number, many, running))
    near('bars', total(book, bars, 'bars', n), takeoff)
    for row, (layout, piece, number, many, running) in zip(pieces.rows(len(marks)), marks):
        what = f'bar {layout["bar"]}, piece {number}'
        same(what, (row['bar'], row['bars'], row['piece'], row['of'], row['use'], row['part']),
             (layout['bar'], layout['count'], number, many, piece['use'], piece['part']['label']))
        check_length(what, row, 'stop', piece['length'], inches)
        check_length(what, row, 'running mark', {'nm': running}, inches)
        for key in ('job', 'client', 'due', 'section', 'work', 'remark'):
            same(f'{what} {key}', row.get(key), piece.get(key))
    near('pieces', total(book, pieces, 'bars', len(marks)), sum(layout['count'] for layout, *_ in marks))
    for row, one in zip(take.rows(len(plan['takes'])), plan['takes']):
        same(one['supply']['id'], (row['supply'], row['cut'], row['taken or bought'], row['money']),
             (one['supply']['id'], one['used'], one['bought'], float(one['money'])))
    near('money', total(book, money, 'money', 7), plan['totals']['value'])
    for sheet, n in ((bars, n), (pieces, len(marks)), (take, len(plan['takes'])), (money, 7)):
        check_csv(f'{folder}/plan-{sheet.name}.csv', sheet, n)
    if inches:
        pictures = {pieces.pictures[(r, pieces.column('stop, in'))] for r in range(1, len(marks) + 1)}
        same('inches are shown as', '# ??/??' in pictures, True)
    return sum(len(layout['pieces']) for layout in plan['layouts'])


def check_takeoff(folder, title, inches):
    book = Book(f'{folder}/takeoff.xlsx')
    drawn = json.load(open(f'{folder}/takeoff.json'))
    same('sheets of a take-off', [one.name for one in book.sheets], ['parts', 'steps', 'fittings', 'sections'])
    check_book(book, title, {'parts', 'steps'} if inches else {'steps'})
    parts, steps, fittings, sections = book.sheets
    told = [(part, step) for part in drawn['parts'] for step in part['steps']]
    for row, part in zip(parts.rows(len(drawn['parts'])), drawn['parts']):
        same('part', (row['part'], row['count']), (part['label'], part['count']))
        check_length(part['label'], row, 'cut', part['cut'], inches)
    for row, (part, step) in zip(steps.rows(len(told)), told):
        same('step', (row['part'], row['what']), (part['label'], step['text']))
        check_length(step['text'], row, 'amount', step['amount'], inches)
    for row, one in zip(fittings.rows(len(drawn['fittings'])), drawn['fittings']):
        same('fitting', (row['fitting'], row['count'], row.get('job')), (one['fitting'], one['count'], one['job']))
    for row, one in zip(sections.rows(len(drawn['sections'])), drawn['sections']):
        same('section', (row.get('section'), row['pieces']), (one['section'], one['pieces']))
        check_length('section', row, 'longest', one['longest'], inches)
        near('weight', row['weight, kg'], round(one['weight_mg'] / 1000) / 1000)
    near('parts', total(book, parts, 'count', len(drawn['parts'])), sum(one['count'] for one in drawn['parts']))
    for sheet, n in ((parts, len(drawn['parts'])), (steps, len(told)), (fittings, len(drawn['fittings'])),
                     (sections, len(drawn['sections']))):
        check_csv(f'{folder}/takeoff-{sheet.name}.csv', sheet, n)
    return len(told)


def check_order(folder, title, inches):
    book = Book(f'{folder}/order.xlsx')
    order = json.load(open(f'{folder}/order.json'))
    several = len(order['suppliers']) > 1
    sheets = book.sheets[1:] if several else book.sheets
    same('a sheet a supplier', len(sheets), len(order['suppliers']))
    same('the first sheet', book.sheets[0].name, 'order')
    check_book(book, title, {one.name for one in sheets})
    lines = list(csv.DictReader(open(f'{folder}/order.csv', encoding='utf-8-sig', newline='')))
    for sheet, supplier in zip(sheets, order['suppliers']):
        n = len(supplier['lines'])
        for row, line in zip(sheet.rows(n), supplier['lines']):
            what = line['text']
            same(what, (row['supplier'], row['kind'], row.get('item'), row['description'], row['quantity']),
                 (supplier['name'], line['kind'], line['item'], line['text'], line['quantity']))
            same(what, (row['price each'], row['amount'], row['currency'], row.get('price of')),
                 (float(line['price_each']), float(line['amount']), order['currency'], line['price_of']))
            if line['length']:
                check_length(what, row, 'length', line['length'], inches)
            of_csv = lines.pop(0)
            same(what + ' as CSV', (of_csv['amount'], float(of_csv['quantity'])),
                 (f'{float(line["amount"]):.2f}', line['quantity']))
        near(f'sum of {supplier["name"]}', total(book, sheet, 'amount', n), supplier['total'])
    if several:
        near('sum of all', total(book, book.sheets[0], 'amount', len(sheets)), order['total'])
    said = book.sheets[0].texts() + sheets[0].texts()
    for text in [one['text'] for one in order['cautions']] + order['notes']:
        same(f'minded: {text}', text in said, True)
    return sum(len(one['lines']) for one in order['suppliers'])


def check_quote(folder, title):
    book = Book(f'{folder}/quote.xlsx')
    quote = json.load(open(f'{folder}/quote.json'))
    same('a sheet a job, and one of sums', [one.name for one in book.sheets],
         ['quote'] + [one['job'] for one in quote['jobs']])
    check_book(book, title, {one.name for one in book.sheets})
    for sheet, one in zip(book.sheets[1:], quote['jobs']):
        n = len(one['lines'])
        for row, line in zip(sheet.rows(n), one['lines']):
            same(line['text'], (row['description'], row['price'], row['cost'], row.get('quantity'), row['valid until']),
                 (line['text'], float(line['price']), float(line['cost']), line['quantity'] or None, quote['valid_until']))
        for title, key in (('price', 'price'), ('cost', 'cost'), ('tax amount', 'tax'), ('with tax', 'total')):
            near(f'{key} of {one["job"]}', total(book, sheet, title, n), one[key])
    near('all with tax', total(book, book.sheets[0], 'with tax', len(quote['jobs'])),
         sum(float(one['total']) for one in quote['jobs']))
    client = Book(f'{folder}/client.xlsx')
    for sheet in client.sheets:
        same('a client sees no cost', 'cost' in sheet.titles, False)
    near('what the client pays', total(client, client.sheets[0], 'with tax', len(quote['jobs'][0]['lines'])),
         quote['jobs'][0]['total'])
    return len(quote['jobs'])


def main():
    folder, kerf_nm, unit, title = sys.argv[1:5]
    inches = unit == 'in'
    compared = [check_plan(folder, int(kerf_nm), inches, title), check_takeoff(folder, title, inches),
                check_order(folder, title, inches), check_quote(folder, title)]
    if min(compared) < 2:
        wrong.append(f'too little to compare: {compared}')
    for line in wrong[:20]:
        print(line)
    sys.exit(1 if wrong else 0)


main()
