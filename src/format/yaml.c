/* SPDX-License-Identifier: GPL-3.0-or-later */
/* YAML 1.2 into a tree of nodes, from the events of libfyaml. Nothing is resolved by its looks: a
 * scalar keeps the text that was written. */
#include "format/tree.h"

#include <errno.h>
#include <libfyaml.h>
#include <stdlib.h>
#include <string.h>

/* A list or map whose end has not come yet. */
struct open_node {
    struct dw_node *node;
    size_t first; /* index of its first item in pending */
    const char *anchor;
};

struct anchor {
    const char *name;
    struct dw_node *node;
};

struct builder {
    struct dw_arena *arena;
    const char *name;
    struct dw_report *report;
    struct dw_cursor cursor;
    struct dw_place last; /* of the last event that had a place */
    struct open_node open[DW_DEPTH_LIMIT];
    size_t depth;
    struct dw_node **pending; /* items of the open nodes, innermost last */
    size_t n_pending;
    size_t pending_capacity;
    struct anchor *anchors;
    size_t n_anchors;
    size_t anchor_capacity;
    struct dw_node *root;
    size_t weight;
    size_t n_documents;
    bool refused;
    bool no_memory;
};

__attribute__((format(printf, 3, 4))) static void refuse(struct builder *b, struct dw_place at,
                                                         const char *format, ...)
{
    char text[256];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    b->refused = true;
    if (dw_report__add(b->report, DW_WRONG, at.file, at.line, at.column, "%s", text) != DW_OK)
        b->no_memory = true;
}

/* Quoted scalars are marked behind the opening quote: their place is the quote. */
static struct dw_place find_place(struct builder *b, struct fy_event *event)
{
    const struct fy_mark *mark = fy_event_start_mark(event);
    if (!mark || mark->line < 0)
        return b->last;
    size_t offset = mark->input_pos;
    if (event->type == FYET_SCALAR) {
        enum fy_scalar_style style = fy_token_scalar_style(fy_event_get_token(event));
        if ((style == FYSS_SINGLE_QUOTED || style == FYSS_DOUBLE_QUOTED) && offset > 0)
            offset--;
    }
    dw_cursor__seek(&b->cursor, offset);
    b->last = (struct dw_place){b->name, b->cursor.line, b->cursor.column};
    return b->last;
}

static struct dw_node *add_node(struct builder *b, enum dw_node_kind kind, struct dw_place at)
{
    struct dw_node *node = dw_arena__alloc(b->arena, 1, sizeof *node);
    if (!node) {
        b->no_memory = true;
        return NULL;
    }
    node->kind = kind;
    node->text = "";
    node->at = at;
    node->weight = 1;
    return node;
}

/* Counts what the document would hold with its aliases written out. */
static void add_weight(struct builder *b, size_t weight, struct dw_place at)
{
    if (b->refused)
        return;
    b->weight += weight;
    if (b->weight > DW_NODE_LIMIT)
        refuse(b, at, "the file holds more than %zu values; split the job", DW_NODE_LIMIT);
}

static void add_item(struct builder *b, struct dw_node *node)
{
    if (!node)
        return;
    if (b->depth == 0) {
        b->root = node;
        return;
    }
    if (!dw_array__grow(&b->pending, &b->pending_capacity, b->n_pending + 1,
                        sizeof(struct dw_node *))) {
        b->no_memory = true;
        return;
    }
    b->pending[b->n_pending++] = node;
}

/* A block scalar of blanks alone at the end of the text: libfyaml 0.7.12 fails to iterate it. */
static bool is_blank_token(const struct builder *b, struct fy_token *token)
{
    const struct fy_mark *start = fy_token_start_mark(token);
    const struct fy_mark *end = fy_token_end_mark(token);
    for (size_t i = start->input_pos; i < end->input_pos && i < b->cursor.n; i++)
        if (!strchr(" \t\r\n", b->cursor.text[i]))
            return false;
    return true;
}

/* In chunks, since fy_token_get_text of libfyaml 0.7.12 leaks when a token has many of them. */
static void read_token(struct builder *b, struct fy_token *token, struct dw_buf *buf)
{
    struct fy_token_iter *iterator = fy_token_iter_create(token);
    const struct fy_iter_chunk *chunk = NULL;
    int failed = iterator ? 0 : -1;
    while (!failed && (chunk = fy_token_iter_chunk_next(iterator, chunk, &failed)))
        dw_buf__add(buf, chunk->str, chunk->len);
    if (failed && !(iterator && buf->n == 0 && is_blank_token(b, token)))
        b->no_memory = true;
    if (iterator)
        fy_token_iter_destroy(iterator);
}

static const char *copy_token(struct builder *b, struct fy_token *token, size_t *n)
{
    struct dw_buf buf = {0};
    if (token)
        read_token(b, token, &buf);
    char *copy = buf.failed ? NULL : dw_arena__text_n(b->arena, buf.text, buf.n);
    if (!copy)
        b->no_memory = true;
    *n = copy ? buf.n : 0;
    dw_buf__free(&buf);
    return copy ? copy : "";
}

static const char *read_anchor(struct builder *b, struct fy_event *event)
{
    struct fy_token *token = fy_event_get_anchor_token(event);
    size_t n = 0;
    return token ? copy_token(b, token, &n) : NULL;
}

static void add_anchor(struct builder *b, const char *name, struct dw_node *node)
{
    if (!name || !node)
        return;
    if (b->n_anchors >= DW_KEY_LIMIT) {
        refuse(b, node->at, "more than %d anchors", DW_KEY_LIMIT);
        return;
    }
    if (!dw_array__grow(&b->anchors, &b->anchor_capacity, b->n_anchors + 1, sizeof *b->anchors)) {
        b->no_memory = true;
        return;
    }
    b->anchors[b->n_anchors++] = (struct anchor){name, node};
}

static void refuse_tag(struct builder *b, struct fy_event *event, struct dw_place at)
{
    if (fy_event_get_tag_token(event))
        refuse(b, at, "tags (!...) have no meaning in a job; leave it out");
}

static void set_quoting(struct dw_node *node, struct fy_event *event)
{
    const struct fy_mark *start = fy_event_start_mark(event);
    const struct fy_mark *end = fy_event_end_mark(event);
    enum fy_scalar_style style = fy_token_scalar_style(fy_event_get_token(event));
    size_t written = start && end ? end->input_pos - start->input_pos : 0;
    bool one_line = start && end && start->line == end->line;
    node->quoting = DW_QUOTE_OTHER;
    if (!one_line)
        return;
    if (style == FYSS_PLAIN)
        node->quoting = DW_QUOTE_NONE;
    else if (style == FYSS_SINGLE_QUOTED)
        node->quoting = DW_QUOTE_SINGLE;
    else if (style == FYSS_DOUBLE_QUOTED && written == node->n && !memchr(node->text, '"', node->n))
        node->quoting = DW_QUOTE_DOUBLE;
}

/* An empty plain scalar and `~` and `null` are null, after YAML's core schema. */
static bool is_null(const struct dw_node *node)
{
    return node->quoting == DW_QUOTE_NONE &&
           (node->n == 0 || strcmp(node->text, "~") == 0 || strcmp(node->text, "null") == 0);
}

static void add_scalar(struct builder *b, struct fy_event *event, struct dw_place at)
{
    struct dw_node *node = add_node(b, DW_NODE_SCALAR, at);
    if (!node)
        return;
    node->text = copy_token(b, fy_event_get_token(event), &node->n);
    set_quoting(node, event);
    if (is_null(node)) {
        node->kind = DW_NODE_NULL;
        node->text = "";
        node->n = 0;
    }
    add_weight(b, 1, at);
    add_anchor(b, read_anchor(b, event), node);
    add_item(b, node);
}

static void add_alias(struct builder *b, struct fy_event *event, struct dw_place at)
{
    size_t n = 0;
    const char *name = copy_token(b, fy_event_get_token(event), &n);
    for (size_t i = b->n_anchors; i-- > 0;) {
        if (strcmp(b->anchors[i].name, name) == 0) {
            add_weight(b, b->anchors[i].node->weight, at);
            add_item(b, b->anchors[i].node);
            return;
        }
    }
    refuse(b, at, "*%s has no finished &%s before it", name, name);
}

static void open_container(struct builder *b, struct fy_event *event, enum dw_node_kind kind,
                           struct dw_place at)
{
    struct dw_node *node = add_node(b, kind, at);
    if (!node)
        return;
    add_item(b, node);
    add_weight(b, 1, at);
    if (b->depth == DW_DEPTH_LIMIT) {
        refuse(b, at, "nested deeper than %d levels", DW_DEPTH_LIMIT);
        return;
    }
    b->open[b->depth++] = (struct open_node){node, b->n_pending, read_anchor(b, event)};
}

static void close_container(struct builder *b)
{
    struct open_node *open = b->depth > 0 ? &b->open[--b->depth] : NULL;
    struct dw_node *node = open ? open->node : NULL;
    if (!node)
        return;
    size_t count = b->n_pending - open->first;
    node->items = dw_arena__alloc(b->arena, count, sizeof(struct dw_node *));
    if (!node->items) {
        b->no_memory = true;
        return;
    }
    if (count)
        memcpy(node->items, b->pending + open->first, count * sizeof(struct dw_node *));
    node->n_items = count;
    for (size_t i = 0; i < count; i++)
        node->weight += node->items[i]->weight;
    b->n_pending = open->first;
    if (node->kind == DW_NODE_MAP && count / 2 > DW_KEY_LIMIT)
        refuse(b, node->at, "more than %d keys in one place", DW_KEY_LIMIT);
    add_anchor(b, open->anchor, node);
}

static void take_event(struct builder *b, struct fy_event *event)
{
    struct dw_place at = find_place(b, event);
    switch (event->type) {
    case FYET_DOCUMENT_START:
        if (++b->n_documents == 2)
            refuse(b, at,
                   "a second document begins here; a job is one document (for several jobs "
                   "in one batch use `jobs`)");
        break;
    case FYET_MAPPING_START:
    case FYET_SEQUENCE_START:
        refuse_tag(b, event, at);
        open_container(b, event, event->type == FYET_MAPPING_START ? DW_NODE_MAP : DW_NODE_LIST,
                       at);
        break;
    case FYET_MAPPING_END:
    case FYET_SEQUENCE_END:
        close_container(b);
        break;
    case FYET_SCALAR:
        refuse_tag(b, event, at);
        add_scalar(b, event, at);
        break;
    case FYET_ALIAS:
        add_alias(b, event, at);
        break;
    default:
        break;
    }
}

/* The first error that libfyaml collected; later ones follow from it. */
static void report_syntax(struct builder *b, struct fy_diag *diag)
{
    void *iterator = NULL;
    const struct fy_diag_error *found = fy_diag_errors_iterate(diag, &iterator);
    struct dw_place at = {b->name, found && found->line > 0 ? found->line : b->last.line,
                          found && found->column > 0 ? found->column : b->last.column};
    refuse(b, at, "not well-formed YAML: %s", found && found->msg ? found->msg : "broken off");
}

/* libfyaml tells an allocation that failed by no code of its own, but malloc does (POSIX: ENOMEM).
 */
static void run_parser(struct builder *b, struct fy_parser *parser, struct fy_diag *diag)
{
    bool ended = false;
    errno = 0;
    while (!ended && !b->refused && !b->no_memory) {
        struct fy_event *event = fy_parser_parse(parser);
        if (errno == ENOMEM)
            b->no_memory = true;
        if (b->no_memory && !event)
            return;
        if (!event) {
            report_syntax(b, diag);
            return;
        }
        ended = event->type == FYET_STREAM_END;
        take_event(b, event);
        fy_parser_event_free(parser, event);
    }
}

#define INPUT_ROOM 4096 /* bytes; the record of an input takes some hundred */

/* Without memory for its record of the input libfyaml 0.7.12 follows a null pointer. A block that
 * was just given back is there for it. */
static bool has_input_room(void)
{
    void *volatile room = malloc(INPUT_ROOM);
    bool found = room != NULL;
    free(room);
    return found;
}

/* libfyaml collects its messages in `diag` and prints nothing. */
static void parse_text(struct builder *b, const char *text, size_t n)
{
    struct fy_diag_cfg diag_cfg;
    fy_diag_cfg_default(&diag_cfg);
    diag_cfg.fp = NULL;
    diag_cfg.level = FYET_ERROR;
    struct fy_diag *diag = fy_diag_create(&diag_cfg);
    if (diag)
        fy_diag_set_collect_errors(diag, true);
    struct fy_parse_cfg cfg = {
        .flags = FYPCF_DEFAULT_VERSION_1_2 | FYPCF_JSON_NONE | FYPCF_COLLECT_DIAG,
        .diag = diag,
    };
    struct fy_parser *parser = diag ? fy_parser_create(&cfg) : NULL;
    if (parser && has_input_room() && fy_parser_set_string(parser, text, n) == 0)
        run_parser(b, parser, diag);
    else
        b->no_memory = true;
    if (parser)
        fy_parser_destroy(parser);
    if (diag)
        fy_diag_destroy(diag);
}

/* No document has more values than marks that could part them. Counted beforehand, since libfyaml
 * may hold the whole of a line before the first event. */
static size_t count_marks(const char *text, size_t n)
{
    size_t marks = 0;
    for (size_t i = 0; i < n; i++)
        marks += text[i] == ',' || text[i] == ':' || text[i] == '\n' || text[i] == '[';
    return marks;
}

dw_err dw_yaml__parse(struct dw_arena *arena, const char *text, size_t n, const char *name,
                      struct dw_report *report, struct dw_node **root, struct dw_error *error)
{
    *root = NULL;
    if (!dw_text__check(text, n, name, report))
        return DW_OK;
    struct builder b = {.arena = arena, .name = name, .report = report};
    b.cursor = dw_cursor__start(text, n);
    b.last = (struct dw_place){name, 1, 1};
    if (count_marks(text, n) > DW_NODE_LIMIT)
        refuse(&b, b.last, "the file holds more than %zu values; split the job", DW_NODE_LIMIT);
    else
        parse_text(&b, text, n);
    if (!b.refused && !b.no_memory && !b.root)
        refuse(&b, b.last, "the file is empty; a job begins with `dropwise: 1`");
    if (!b.refused && !b.no_memory)
        *root = b.root;
    free(b.pending);
    free(b.anchors);
    return b.no_memory ? dw_error__nomem(error) : DW_OK;
}
