/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The parts of a workbook, by libzip, and a walk through the XML of one, by expat. Both are fed and
 * counted so that no part can take more than the limits of grid.h. */
#include "grid/part.h"

#include <expat.h>
#include <stdlib.h>
#include <string.h>
#include <zip.h>

#define CHUNK        16384
#define ENTRIES_MOST 10000             /* files in a workbook */
#define RATIO_FROM   ((size_t)1 << 20) /* unpacked bytes below which the ratio is not asked */
#define END_BYTES    22                /* of the record at the end of a zip file */
#define END_SEARCH   (END_BYTES + 65535)

struct dw_zip {
    zip_t *archive;
};

/* The record that ends a zip file holds how many files are in it: two bytes at 10. */
static bool count_entries(const char *bytes, size_t n, unsigned *count)
{
    for (size_t back = END_BYTES; back <= n && back <= END_SEARCH; back++) {
        const unsigned char *at = (const unsigned char *)bytes + n - back;
        if (memcmp(at, "PK\5\6", 4) != 0)
            continue;
        *count = (unsigned)at[10] | (unsigned)at[11] << 8;
        return true;
    }
    return false;
}

static dw_err refuse_zip(struct dw_error *error)
{
    return dw_error__set(error, DW_ERR_SYNTAX,
                         "the workbook is broken; open it in the program that made it, and save "
                         "it again");
}

dw_err dw_zip__open(const char *bytes, size_t n, struct dw_zip **out, struct dw_error *error)
{
    unsigned count = 0;
    *out = NULL;
    if (!count_entries(bytes, n, &count))
        return refuse_zip(error);
    if (count > ENTRIES_MOST)
        return dw_error__set(error, DW_ERR_LIMIT, "the workbook holds more than %d files",
                             ENTRIES_MOST);
    struct dw_zip *zip = calloc(1, sizeof *zip);
    zip_error_t why;
    zip_error_init(&why);
    zip_source_t *source = zip ? zip_source_buffer_create(bytes, n, 0, &why) : NULL;
    if (source)
        zip->archive = zip_open_from_source(source, ZIP_RDONLY, &why);
    if (source && !zip->archive)
        zip_source_free(source);
    bool no_memory = !zip || (!zip->archive && zip_error_code_zip(&why) == ZIP_ER_MEMORY);
    zip_error_fini(&why);
    if (zip && zip->archive) {
        *out = zip;
        return DW_OK;
    }
    free(zip);
    return no_memory ? dw_error__nomem(error) : refuse_zip(error);
}

void dw_zip__close(struct dw_zip *zip)
{
    if (!zip)
        return;
    zip_discard(zip->archive);
    free(zip);
}

bool dw_zip__has(struct dw_zip *zip, const char *part)
{
    return zip_name_locate(zip->archive, part, 0) >= 0;
}

static dw_err open_part(struct dw_zip *zip, const char *part, zip_file_t **file,
                        zip_uint64_t *packed, struct dw_error *error)
{
    zip_stat_t stat;
    zip_int64_t index = zip_name_locate(zip->archive, part, 0);
    if (index < 0)
        return dw_error__set(error, DW_ERR_SYNTAX, "the workbook lacks its part %.60s", part);
    if (zip_stat_index(zip->archive, (zip_uint64_t)index, 0, &stat) != 0 ||
        !(stat.valid & ZIP_STAT_COMP_SIZE))
        return refuse_zip(error);
    if ((stat.valid & ZIP_STAT_ENCRYPTION_METHOD) && stat.encryption_method != ZIP_EM_NONE)
        return dw_error__set(error, DW_ERR_INPUT, "the workbook has a password; save it without");
    *packed = stat.comp_size;
    *file = zip_fopen_index(zip->archive, (zip_uint64_t)index, 0);
    if (!*file && zip_error_code_zip(zip_get_error(zip->archive)) == ZIP_ER_MEMORY)
        return dw_error__nomem(error);
    return *file ? DW_OK : refuse_zip(error);
}

/* --- XML ----------------------------------------------------------------------------------------
 */

struct walk {
    struct dw_xml *xml;
    XML_Parser parser;
    int depth;
};

static const char *local(const char *name)
{
    const char *colon = strchr(name, ':');
    return colon ? colon + 1 : name;
}

void dw_xml__stop(struct dw_xml *xml, dw_err err, const char *format, ...)
{
    char text[256];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    if (!xml->err)
        xml->err = err == DW_ERR_NOMEM ? dw_error__nomem(xml->error)
                                       : dw_error__set(xml->error, err, "%s", text);
}

const char *dw_xml__get(const char **attributes, const char *name)
{
    for (size_t i = 0; attributes[i]; i += 2)
        if (strcmp(local(attributes[i]), name) == 0)
            return attributes[i + 1];
    return NULL;
}

long dw_xml__number(const char **attributes, const char *name, long otherwise)
{
    const char *text = dw_xml__get(attributes, name);
    char *end = NULL;
    if (!text || !*text)
        return otherwise;
    long value = strtol(text, &end, 10);
    return *end == '\0' ? value : otherwise;
}

static void stop_if_failed(struct walk *walk)
{
    if (walk->xml->err)
        XML_StopParser(walk->parser, XML_FALSE);
}

static void on_begin(void *user, const XML_Char *name, const XML_Char **attributes)
{
    struct walk *walk = user;
    if (walk->xml->err)
        return;
    if (++walk->depth > DW_GRID_DEPTH)
        dw_xml__stop(walk->xml, DW_ERR_LIMIT,
                     "the workbook has more than %d elements within each "
                     "other",
                     DW_GRID_DEPTH);
    else
        walk->xml->begin(walk->xml, local(name), attributes);
    stop_if_failed(walk);
}

static void on_end(void *user, const XML_Char *name)
{
    struct walk *walk = user;
    walk->depth--;
    if (!walk->xml->err)
        walk->xml->end(walk->xml, local(name));
    stop_if_failed(walk);
}

static void on_text(void *user, const XML_Char *text, int n)
{
    struct walk *walk = user;
    if (!walk->xml->err && walk->xml->text)
        walk->xml->text(walk->xml, text, (size_t)n);
    stop_if_failed(walk);
}

static void on_doctype(void *user, const XML_Char *name, const XML_Char *system,
                       const XML_Char *public, int internal)
{
    (void)name;
    (void)system;
    (void)public;
    (void)internal;
    struct walk *walk = user;
    dw_xml__stop(walk->xml, DW_ERR_SYNTAX,
                 "the workbook declares a document type, which no spreadsheet writes");
    stop_if_failed(walk);
}

static dw_err parse_error(struct walk *walk, struct dw_error *error)
{
    if (walk->xml->err)
        return walk->xml->err;
    if (XML_GetErrorCode(walk->parser) == XML_ERROR_NO_MEMORY)
        return dw_error__nomem(error);
    return refuse_zip(error);
}

static dw_err feed(struct walk *walk, zip_file_t *file, zip_uint64_t packed, struct dw_error *error)
{
    size_t all = 0;
    for (;;) {
        void *chunk = XML_GetBuffer(walk->parser, CHUNK);
        if (!chunk)
            return dw_error__nomem(error);
        zip_int64_t got = zip_fread(file, chunk, CHUNK);
        if (got < 0)
            return zip_error_code_zip(zip_file_get_error(file)) == ZIP_ER_MEMORY
                       ? dw_error__nomem(error)
                       : refuse_zip(error);
        all += (size_t)got;
        if (all > DW_GRID_PART || (all > RATIO_FROM && all / DW_GRID_RATIO > packed))
            return dw_error__set(error, DW_ERR_LIMIT,
                                 "the workbook unpacks to more than a list of parts can need");
        if (XML_ParseBuffer(walk->parser, (int)got, got == 0) != XML_STATUS_OK)
            return parse_error(walk, error);
        if (got == 0)
            return walk->xml->err;
    }
}

dw_err dw_xml__walk(struct dw_zip *zip, const char *part, struct dw_xml *xml,
                    struct dw_error *error)
{
    zip_file_t *file = NULL;
    zip_uint64_t packed = 0;
    struct walk walk = {.xml = xml};
    xml->error = error;
    xml->err = DW_OK;
    dw_err err = open_part(zip, part, &file, &packed, error);
    if (err)
        return err;
    walk.parser = XML_ParserCreate(NULL);
    if (walk.parser) {
        XML_SetUserData(walk.parser, &walk);
        XML_SetElementHandler(walk.parser, on_begin, on_end);
        XML_SetCharacterDataHandler(walk.parser, on_text);
        XML_SetStartDoctypeDeclHandler(walk.parser, on_doctype);
        err = feed(&walk, file, packed, error);
        XML_ParserFree(walk.parser);
    } else
        err = dw_error__nomem(error);
    (void)zip_fclose(file);
    return err;
}
