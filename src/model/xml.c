/* SPDX-License-Identifier: MIT
 * The one file that includes libxml2 (2.9). A tree is loaded and validated as
 * a whole: the streaming reader gives wrong lines for dangling references.
 * A document type declaration is refused before anything of it is read, so
 * that no entity is ever declared. Errors come through the structured
 * handlers of the parser and of the validation context; nothing is printed
 * and no global handler is touched. */
#include "model/xml.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <libxml/parser.h>
#include <libxml/xmlschemas.h>

#include "base/diag.h"
#include "base/file.h"
#include "model/xml_encoding.h"
#include "model/xml_words.h"

#define MOST_FAULTS 1000 /* of one file; what follows is not listed */

struct dm_xml {
    xmlDoc *doc;
    dm_arena *arena;
    dm_diag *diag;
    char *file;
    char *sha256;
    dm_status status; /* of the first fault */
    size_t faults;
    const dm_buf *text; /* while it is parsed */
    bool misplaced;     /* an element stands where it may not */
};

static void remember(dm_xml *x, dm_status status)
{
    x->faults++;
    /* Without memory what else is found is not to be trusted. */
    if (x->status == DM_OK || status == DM_NOMEM)
        x->status = status;
}

/* Says a fault and keeps its status; a file full of faults is not listed to
 * the end. */
static dm_status say(dm_xml *x, dm_status status, long line,
                     const char *subject, const char *text)
{
    dm_place place = {x->file, line};
    remember(x, status);
    if (x->faults <= MOST_FAULTS)
        return dm_error(x->diag, status, place, subject, "%s", text);
    if (x->faults == MOST_FAULTS + 1)
        dm_error(x->diag, status, place, NULL,
                 "more than %d faults, the rest is not listed", MOST_FAULTS);
    return status;
}

/* ---- parsing ----------------------------------------------------------------
 */

static void on_syntax_error(void *context, xmlError *e)
{
    xmlParserCtxt *parser = context;
    dm_xml *x = parser->_private;
    if (x->status != DM_OK || e->level < XML_ERR_ERROR)
        return; /* what follows the first fault is mostly its echo */
    char text[256];
    size_t n = 0;
    while (e->message && e->message[n] && e->message[n] != '\n' &&
           n + 1 < sizeof text) {
        text[n] = e->message[n];
        n++;
    }
    text[n] = '\0';
    remember(x, dm_error(x->diag, DM_SYNTAX, (dm_place){x->file, e->line}, NULL,
                         "not well-formed XML: %s", text));
}

static void on_doctype(void *context, const xmlChar *name,
                       const xmlChar *external, const xmlChar *system)
{
    xmlParserCtxt *parser = context;
    dm_xml *x = parser->_private;
    (void)name;
    (void)external;
    (void)system;
    if (x->status == DM_OK)
        remember(x, dm_error(x->diag, DM_SYNTAX,
                             (dm_place){x->file, xmlSAX2GetLineNumber(parser)},
                             NULL,
                             "a document type declaration (DOCTYPE) is not "
                             "allowed; remove it and all entities"));
    xmlStopParser(parser);
}

/* libxml2 gives an element the line of its tag's end; people look for the
 * begin. A '<' cannot stand within a tag, so the last one is its begin. */
static void on_element(void *context, const xmlChar *name,
                       const xmlChar *prefix, const xmlChar *uri, int spaces,
                       const xmlChar **space, int attributes, int defaults,
                       const xmlChar **attribute)
{
    xmlParserCtxt *parser = context;
    const dm_xml *x = parser->_private;
    xmlSAX2StartElementNs(context, name, prefix, uri, spaces, space, attributes,
                          defaults, attribute);
    long at = xmlByteConsumed(parser);
    xmlNode *node = parser->node;
    /* Beyond 65535 the line is kept elsewhere: left as it is. */
    if (!node || node->line == 0 || node->line == 65535 || at < 0 ||
        (size_t)at > x->text->length)
        return;
    while (at > 0 && x->text->data[at - 1] != '<')
        if (x->text->data[--at] == '\n')
            node->line--;
}

static dm_status parse(dm_xml *x, const dm_buf *text)
{
    xmlParserCtxt *parser = xmlNewParserCtxt();
    if (!parser)
        return DM_NOMEM;
    parser->_private = x;
    parser->sax->serror = on_syntax_error;
    parser->sax->internalSubset = on_doctype;
    parser->sax->startElementNs = on_element;
    x->text = text;
    x->doc = xmlCtxtReadMemory(
        parser, text->data, (int)text->length, x->file, NULL,
        XML_PARSE_NONET | XML_PARSE_BIG_LINES | XML_PARSE_IGNORE_ENC);
    bool good = x->doc && parser->wellFormed;
    bool memory = parser->errNo == XML_ERR_NO_MEMORY;
    xmlFreeParserCtxt(parser);
    x->text = NULL;
    if (memory)
        return DM_NOMEM;
    if (x->status == DM_OK && !good)
        remember(x, dm_error(x->diag, DM_SYNTAX, (dm_place){x->file, 0}, NULL,
                             "not well-formed XML"));
    return x->status;
}

/* ---- validation
 * --------------------------------------------------------------- */

/* For each error libxml2 walks back over all elements before the faulty one
 * (it looks for XInclude marks), so that a file full of faults would take
 * time by the square. The walk is cut at the last fault: a refused tree is
 * only freed, and neither that nor validation goes backwards. */
static void cut_walk(xmlNode *node)
{
    for (; node && node->type == XML_ELEMENT_NODE; node = node->parent)
        node->prev = NULL;
}

static void on_schema_error(void *user, xmlError *e)
{
    dm_xml *x = user;
    char subject[80], text[600];
    cut_walk(e->node);
    if (!xml_words(e->code, e->message, subject, sizeof subject, text,
                   sizeof text))
        return;
    /* A misplaced element is left out of the keys; that nothing is found by
     * its id is then an echo. */
    if (e->code == XML_SCHEMAV_ELEMENT_CONTENT)
        x->misplaced = true;
    else if (x->misplaced && e->code == XML_SCHEMAV_CVC_IDC &&
             strstr(e->message, "No match found"))
        return;
    say(x, DM_SCHEMA, e->line, subject[0] ? subject : NULL, text);
}

static void say_nothing(void *user, xmlError *e)
{
    (void)user;
    (void)e;
}

static dm_status validate(dm_xml *x, const unsigned char *xsd, size_t size)
{
    xmlSchemaParserCtxt *parser =
        xmlSchemaNewMemParserCtxt((const char *)xsd, (int)size);
    if (!parser)
        return DM_NOMEM;
    xmlSchemaSetParserStructuredErrors(parser, say_nothing, NULL);
    xmlSchema *schema = xmlSchemaParse(parser);
    xmlSchemaFreeParserCtxt(parser);
    xmlSchemaValidCtxt *valid = schema ? xmlSchemaNewValidCtxt(schema) : NULL;
    int result = -1;
    if (valid) {
        xmlSchemaSetValidStructuredErrors(valid, on_schema_error, x);
        result = xmlSchemaValidateDoc(valid, x->doc);
    }
    xmlSchemaFreeValidCtxt(valid);
    xmlSchemaFree(schema);
    if (result == 0 && x->status == DM_OK)
        return DM_OK;
    if (x->status == DM_OK && result < 0)
        return DM_NOMEM; /* our own schemas are sound: what is left is memory */
    if (x->status == DM_OK)
        remember(x, dm_error(x->diag, DM_SCHEMA, (dm_place){x->file, 0}, NULL,
                             "the document does not follow its schema"));
    return x->status;
}

/* ---- opening
 * --------------------------------------------------------------------- */

static char *hash_of(dm_arena *arena, const dm_buf *text)
{
    char *hex = dm_arena_alloc(arena, 65, 1);
    dm_sha256 *hash = dm_sha256_new();
    if (hex && hash) {
        dm_sha256_update(hash, text->data, text->length);
        dm_sha256_hex(hash, hex);
    }
    dm_sha256_free(hash);
    return hash ? hex : NULL;
}

static dm_status check_root(dm_xml *x, const char *root)
{
    const xmlNode *node = xmlDocGetRootElement(x->doc);
    const char *name = node ? (const char *)node->name : "";
    if (strcmp(name, root) == 0)
        return DM_OK;
    remember(x, dm_error(x->diag, DM_SCHEMA,
                         (dm_place){x->file, node ? xmlGetLineNo(node) : 0},
                         NULL, "the root element is '%.60s', expected '%s'",
                         name, root));
    return x->status;
}

static dm_status load(dm_xml *x, const dm_buf *text, const char *root,
                      const unsigned char *xsd, size_t xsd_size)
{
    if (text->length == 0) {
        remember(x, dm_error(x->diag, DM_SYNTAX, (dm_place){x->file, 0}, NULL,
                             "an empty file, expected a '%s' document", root));
        return x->status;
    }
    dm_status status = xml_check_utf8(text, (dm_place){x->file, 0}, x->diag);
    if (status == DM_OK)
        status = parse(x, text);
    else
        remember(x, status);
    if (status == DM_OK)
        status = check_root(x, root);
    if (status == DM_OK && xsd)
        status = validate(x, xsd, xsd_size);
    return status;
}

dm_status dm_xml_read_text(const char *path, const dm_buf *text,
                           const char *root, const unsigned char *xsd,
                           size_t xsd_size, dm_arena *arena, dm_diag *diag,
                           dm_xml **out)
{
    *out = NULL;
    dm_xml *x = calloc(1, sizeof *x);
    dm_status status = DM_NOMEM;
    if (x) {
        x->arena = arena;
        x->diag = diag;
        x->file = dm_arena_strdup(arena, path);
        x->sha256 = x->file ? hash_of(arena, text) : NULL;
        if (x->sha256)
            status = load(x, text, root, xsd, xsd_size);
    }
    if (status == DM_OK) {
        *out = x;
        return DM_OK;
    }
    dm_xml_free(x);
    if (status == DM_NOMEM)
        dm_error(diag, DM_NOMEM, (dm_place){path, 0}, NULL, "out of memory");
    return status;
}

dm_status dm_xml_read(const char *path, const char *root,
                      const unsigned char *xsd, size_t xsd_size,
                      dm_arena *arena, dm_diag *diag, dm_xml **out)
{
    dm_buf text = {0};
    *out = NULL;
    dm_status status =
        dm_file_read(path, DM_XML_LIMIT, (dm_place){path, 0}, diag, &text);
    if (status == DM_OK)
        status = dm_xml_read_text(path, &text, root, xsd, xsd_size, arena, diag,
                                  out);
    dm_buf_free(&text);
    return status;
}

typedef struct {
    char *name;
    size_t size;
} peek;

static void on_root(void *context, const xmlChar *name, const xmlChar *prefix,
                    const xmlChar *uri, int spaces, const xmlChar **space,
                    int attributes, int defaults, const xmlChar **attribute)
{
    xmlParserCtxt *parser = context;
    const peek *out = parser->_private;
    (void)prefix, (void)uri, (void)spaces, (void)space;
    (void)attributes, (void)defaults, (void)attribute;
    snprintf(out->name, out->size, "%s", (const char *)name);
    xmlStopParser(parser);
}

static void stop_at_doctype(void *context, const xmlChar *name,
                            const xmlChar *external, const xmlChar *system)
{
    (void)name, (void)external, (void)system;
    xmlStopParser(context);
}

static void ignore_fault(void *context, xmlError *e)
{
    (void)context;
    (void)e;
}

void dm_xml_peek(const char *path, char *name, size_t size)
{
    dm_buf text = {0};
    peek root = {name, size};
    name[0] = '\0';
    if (dm_file_read(path, DM_XML_LIMIT, (dm_place){path, 0}, NULL, &text) ==
        DM_OK) {
        xmlParserCtxt *parser = xmlNewParserCtxt();
        if (parser) {
            parser->_private = &root;
            parser->sax->serror = ignore_fault;
            parser->sax->internalSubset = stop_at_doctype;
            parser->sax->startElementNs = on_root;
            xmlFreeDoc(xmlCtxtReadMemory(
                parser, text.data, (int)text.length, path, NULL,
                XML_PARSE_NONET | XML_PARSE_IGNORE_ENC));
        }
        xmlFreeParserCtxt(parser);
    }
    dm_buf_free(&text);
}

void dm_xml_free(dm_xml *xml)
{
    if (!xml)
        return;
    xmlFreeDoc(xml->doc);
    free(xml);
}

const char *dm_xml_sha256(const dm_xml *xml)
{
    return xml->sha256;
}

const char *dm_xml_file(const dm_xml *xml)
{
    return xml->file;
}

dm_status dm_xml_status(const dm_xml *xml)
{
    return xml->status;
}

size_t dm_xml_fault_count(const dm_xml *xml)
{
    return xml->faults;
}

/* ---- walking
 * ------------------------------------------------------------------------ */

static const xmlNode *inner(const dm_xml_node *node)
{
    return (const xmlNode *)(const void *)node;
}

static const dm_xml_node *outer(const xmlNode *node)
{
    return (const dm_xml_node *)(const void *)node;
}

static const dm_xml_node *element_from(const xmlNode *n, const char *name)
{
    while (n && (n->type != XML_ELEMENT_NODE ||
                 (name && strcmp((const char *)n->name, name) != 0)))
        n = n->next;
    return outer(n);
}

const dm_xml_node *dm_xml_root(const dm_xml *xml)
{
    return outer(xmlDocGetRootElement(xml->doc));
}

const dm_xml_node *dm_xml_child(const dm_xml_node *node, const char *name)
{
    return node ? element_from(inner(node)->children, name) : NULL;
}

const dm_xml_node *dm_xml_next(const dm_xml_node *node, const char *name)
{
    return node ? element_from(inner(node)->next, name) : NULL;
}

size_t dm_xml_count(const dm_xml_node *node, const char *name)
{
    size_t n = 0;
    for (const dm_xml_node *c = dm_xml_child(node, name); c;
         c = dm_xml_next(c, name))
        n++;
    return n;
}

const char *dm_xml_name(const dm_xml_node *node)
{
    return (const char *)inner(node)->name;
}

const char *dm_xml_space(const dm_xml_node *node)
{
    const xmlNs *space = inner(node)->ns;
    return space && space->href ? (const char *)space->href : "";
}

static bool is_text(const xmlNode *n)
{
    return (n->type == XML_TEXT_NODE || n->type == XML_CDATA_SECTION_NODE) &&
           n->content;
}

const char *dm_xml_content(dm_xml *xml, const dm_xml_node *node)
{
    size_t length = 0;
    for (const xmlNode *n = inner(node)->children; n; n = n->next)
        length += is_text(n) ? strlen((const char *)n->content) : 0;
    char *text = dm_arena_alloc(xml->arena, length + 1, 1);
    if (!text) {
        remember(xml, DM_NOMEM);
        return "";
    }
    length = 0;
    for (const xmlNode *n = inner(node)->children; n; n = n->next) {
        size_t more = is_text(n) ? strlen((const char *)n->content) : 0;
        if (more)
            memcpy(text + length, n->content, more);
        length += more;
    }
    return text;
}

dm_place dm_xml_place(const dm_xml *xml, const dm_xml_node *node)
{
    return (dm_place){xml->file, node ? xmlGetLineNo(inner(node)) : 0};
}

dm_status dm_xml_fault(dm_xml *xml, const dm_xml_node *node, dm_status status,
                       const char *format, ...)
{
    char text[600];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    return say(xml, status, dm_xml_place(xml, node).line,
               node ? dm_xml_name(node) : NULL, text);
}

dm_status dm_xml_fault_at(dm_xml *xml, dm_place place, const char *subject,
                          dm_status status, const char *format, ...)
{
    char text[600];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    return say(xml, status, place.line, subject, text);
}

void dm_xml_warn(dm_xml *xml, const dm_xml_node *node, const char *format, ...)
{
    char text[600];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    dm_warn(xml->diag, dm_xml_place(xml, node), node ? dm_xml_name(node) : NULL,
            "%s", text);
}

/* ---- attributes
 * ------------------------------------------------------------------------ */

bool dm_xml_has(const dm_xml_node *node, const char *name)
{
    return node && xmlHasProp(inner(node), (const xmlChar *)name) != NULL;
}

const char *dm_xml_text(dm_xml *xml, const dm_xml_node *node, const char *name,
                        const char *fallback)
{
    if (!dm_xml_has(node, name))
        return fallback;
    xmlChar *value = xmlGetNoNsProp(inner(node), (const xmlChar *)name);
    const char *copy =
        value ? dm_arena_strdup(xml->arena, (const char *)value) : NULL;
    xmlFree(value);
    if (!copy)
        remember(xml, DM_NOMEM);
    return copy ? copy : fallback;
}
