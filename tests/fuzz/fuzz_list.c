/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any bytes as a list: a workbook or a text of separated cells. The first byte chooses: the bytes
 * as they are, or as the one sheet of an XLSX, or as the content of an ODS, each within a zip file
 * whose sums are right, so that what lies behind them is reached. */
#include <dropwise/list.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <zip.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#define REL "rel" /* only the ends of these names are asked for */

static const char roots[] =
    "<r><Relationship Id=\"a\" Type=\"" REL "/officeDocument\" Target=\"xl/workbook.xml\"/></r>";
static const char book[] =
    "<w><sheets><sheet name=\"Parts\" sheetId=\"1\" r:id=\"r1\" xmlns:r=\"" REL "\"/></sheets></w>";
static const char links[] =
    "<r><Relationship Id=\"r1\" Type=\"" REL
    "/worksheet\" Target=\"worksheets/sheet1.xml\"/><Relationship Id=\"r2\" "
    "Type=\"" REL "/styles\" Target=\"styles.xml\"/></r>";
static const char styles[] =
    "<s><numFmts><numFmt numFmtId=\"170\" formatCode=\"# ?\?/?\?\"/></numFmts><cellXfs><xf "
    "numFmtId=\"0\"/><xf numFmtId=\"170\"/><xf numFmtId=\"14\"/><xf numFmtId=\"2\"/></cellXfs></s>";

static void must(bool holds)
{
    if (!holds)
        abort();
}

static void add(zip_t *archive, const char *name, const void *bytes, size_t n)
{
    zip_source_t *source = zip_source_buffer(archive, bytes, n, 0);
    must(source && zip_file_add(archive, name, source, 0) >= 0);
}

/* The zip file is yours. */
static char *make_zip(const uint8_t *data, size_t size, bool ods, size_t *n)
{
    zip_error_t error;
    zip_error_init(&error);
    zip_source_t *target = zip_source_buffer_create(NULL, 0, 0, &error);
    zip_t *archive =
        target ? zip_open_from_source(target, ZIP_CREATE | ZIP_TRUNCATE, &error) : NULL;
    must(archive != NULL);
    zip_source_keep(target);
    if (ods)
        add(archive, "content.xml", data, size);
    else {
        add(archive, "_rels/.rels", roots, sizeof roots - 1);
        add(archive, "xl/workbook.xml", book, sizeof book - 1);
        add(archive, "xl/_rels/workbook.xml.rels", links, sizeof links - 1);
        add(archive, "xl/styles.xml", styles, sizeof styles - 1);
        add(archive, "xl/worksheets/sheet1.xml", data, size);
    }
    must(zip_close(archive) == 0 && zip_source_open(target) == 0);
    zip_source_seek(target, 0, SEEK_END);
    *n = (size_t)zip_source_tell(target);
    zip_source_seek(target, 0, SEEK_SET);
    char *bytes = malloc(*n + 1);
    must(bytes && zip_source_read(target, bytes, *n) == (zip_int64_t)*n);
    zip_source_close(target);
    zip_source_free(target);
    zip_error_fini(&error);
    return bytes;
}

static void read_list(const char *text, size_t n, enum dw_table_kind kind)
{
    const struct dw_list_source source = {
        .kind = kind, .name = "list", .text = text, .n = n, .unit = DW_UNIT_MM};
    struct dw_list *list = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    dw_err err = dw_list_read(&source, &list, &report, &error);
    must((err == DW_OK) == (list != NULL));
    must(err == DW_OK || (err == DW_ERR_INPUT && report.n_wrong > 0));
    for (size_t i = 0; i < report.n_remarks; i++)
        must(report.remarks[i].what.text[0] != '\0' && !strchr(report.remarks[i].what.text, '\n'));
    char *csv = NULL;
    size_t length = 0;
    if (list)
        must(dw_list_to_csv(list, &csv, &length, &error) == DW_OK);
    free(csv);
    dw_list_free(list);
    dw_report_free(&report);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size == 0)
        return 0;
    enum dw_table_kind kind = data[0] & 4 ? DW_TABLE_BARS : DW_TABLE_PARTS;
    if ((data[0] & 3) == 0) {
        char *copy = malloc(size);
        must(copy != NULL);
        memcpy(copy, data + 1, size - 1);
        copy[size - 1] = '\0';
        read_list(copy, size - 1, kind);
        free(copy);
        return 0;
    }
    size_t n = 0;
    char *bytes = make_zip(data + 1, size - 1, (data[0] & 3) == 2, &n);
    read_list(bytes, n, kind);
    free(bytes);
    return 0;
}
