/* SPDX-License-Identifier: MIT
 * The validator speaks of facets and key sequences; people write lengths and
 * ids. Its messages have fixed forms (libxml2 2.9), taken apart here; a form
 * that is not known is passed on as it is. */
#include "model/xml_words.h"

#include <stdio.h>
#include <string.h>

/* The n-th text between single quotes that is longer than nothing; values may
 * hold quotes themselves, which only shortens what is shown. */
static bool quoted(const char *from, char *out, size_t size, const char **after)
{
    const char *a = strchr(from, '\'');
    const char *b = a ? strchr(a + 1, '\'') : NULL;
    if (!b)
        return false;
    size_t n = (size_t)(b - a - 1);
    if (n >= size)
        n = size - 1;
    memcpy(out, a + 1, n);
    out[n] = '\0';
    *after = b + 1;
    return true;
}

/* What a pattern of common.xsd stands for. */
static const char *pattern_words(const char *pattern)
{
    static const struct {
        const char *part, *words;
    } known[] = {
        {"[+\\-]?[0-9]{1,9}(\\.[0-9]{1,15})? (m|mm",
         "a length with its unit (m, mm, ft, in or us-ft), such as 114.3 mm"},
        {"(m|mm|ft|in|us-ft)", "a length with its unit (m, mm, ft, in or "
                               "us-ft), not negative, such as 114.3 mm"},
        {"deg|", "a clock angle, such as 90 deg or 3:00"},
        {" deg", "an angle in degrees, such as 7.5 deg"},
        {"(m2|", "an area with its unit (m2, mm2 or in2), such as 140 mm2"},
        {"(m3|", "a volume with its unit (m3, L, in3 or ft3), such as 1.2 L"},
        {"degC", "a temperature with its unit (degC or degF), such as 12 "
                 "degC"},
        {"kPa", "a pressure with its unit (kPa or psi), such as 101.3 kPa"},
        {"(kN|", "a force with its unit (kN or kip), such as 2926 kN"},
        {"kg/m", "a mass per length with its unit (kg/m or lb/ft)"},
        {"{0,62}", "an id: a letter or digit, then letters, digits, _ . or -"},
        {"{8}-", "a UUID: 8-4-4-4-12 hexadecimal digits"},
        {"#[", "a colour, such as #d55e00"},
        {"[0-9]{4}-[0-9]{2}", "a date, YYYY-MM-DD"},
        {"{1,6}(", "three numbers with blanks between"},
    };
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        if (strstr(pattern, known[i].part))
            return known[i].words;
    return "what is expected here";
}

static const char *type_words(const char *type)
{
    if (strcmp(type, "date") == 0 || strcmp(type, "xs:date") == 0)
        return "a date, YYYY-MM-DD";
    if (strcmp(type, "xs:boolean") == 0)
        return "true or false";
    if (strcmp(type, "epsg") == 0 || strcmp(type, "xs:integer") == 0 ||
        strstr(type, "-count"))
        return "a whole number";
    return "a number with a decimal point";
}

/* "[facet 'pattern'] The value '5' is not accepted by the pattern '...'." */
static bool facet_words(const char *m, char *text, size_t size)
{
    char facet[40], value[100];
    const char *rest;
    if (!quoted(m, facet, sizeof facet, &rest) ||
        !quoted(rest, value, sizeof value, &rest))
        return false;
    if (strcmp(facet, "pattern") == 0) {
        snprintf(text, size, "'%s' is not %s", value, pattern_words(rest));
    } else if (strcmp(facet, "enumeration") == 0) {
        const char *set = strchr(rest, '{');
        int n = set ? (int)strcspn(set + 1, "}") : 0;
        snprintf(text, size, "'%s' is not one of %.*s", value, n,
                 set ? set + 1 : "");
    } else if (strstr(facet, "Inclusive") || strstr(facet, "Exclusive")) {
        char bound[100];
        if (!quoted(rest, bound, sizeof bound, &rest))
            return false;
        snprintf(text, size, "%s is out of range, expected at %s %s", value,
                 strncmp(facet, "min", 3) == 0 ? "least" : "most", bound);
    } else if (strcmp(facet, "minLength") == 0) {
        snprintf(text, size, "is empty");
    } else {
        snprintf(text, size, "is too long");
    }
    return true;
}

/* Key sequences: "Duplicate key-sequence ['L1'] in key identity-constraint
 * 'tendon'.", "No match found for key-sequence ['X'] of keyref 'run-tape'." */
static bool key_words(const char *m, char *text, size_t size)
{
    char value[100], constraint[60];
    const char *rest;
    if (!quoted(m, value, sizeof value, &rest) ||
        !quoted(rest, constraint, sizeof constraint, &rest))
        return false;
    const char *noun = strrchr(constraint, '-');
    if (strncmp(m, "Duplicate", 9) == 0)
        snprintf(text, size, "'%s' is there twice", value);
    else
        snprintf(text, size, "there is no %s '%s'",
                 noun ? noun + 1 : constraint, value);
    return true;
}

static bool element_words(const char *m, char *text, size_t size)
{
    const char *expected = strstr(m, "Expected is");
    const char *open = expected ? strchr(expected, '(') : NULL;
    int n = open ? (int)strcspn(open + 1, ")") : 0;
    if (strncmp(m, "Missing child", 13) == 0)
        snprintf(text, size, "something is missing inside, expected%.*s", n,
                 open ? open + 1 : "");
    else if (open)
        snprintf(text, size, "is not expected here, expected%.*s", n, open + 1);
    else
        snprintf(text, size, "is not expected here");
    size_t length = strlen(text);
    while (length > 0 && (text[length - 1] == ' ' || text[length - 1] == ','))
        text[--length] = '\0';
    return true;
}

static bool body_words(const char *m, char *text, size_t size)
{
    char value[100], type[60];
    const char *rest;
    if (strncmp(m, "[facet", 6) == 0)
        return facet_words(m, text, size);
    if (strstr(m, "key-sequence"))
        return key_words(m, text, size);
    if (strncmp(m, "This element is not", 19) == 0 ||
        strncmp(m, "Missing child", 13) == 0)
        return element_words(m, text, size);
    if (strstr(m, "is not allowed.") && quoted(m, value, sizeof value, &rest)) {
        snprintf(text, size, "attribute '%s' is not known here", value);
        return true;
    }
    if (strstr(m, "is required but missing") &&
        quoted(m, value, sizeof value, &rest)) {
        snprintf(text, size, "attribute '%s' is missing", value);
        return true;
    }
    if (strstr(m, "valid value of the") &&
        quoted(m, value, sizeof value, &rest)) {
        if (!quoted(rest, type, sizeof type, &rest))
            strcpy(type, "");
        snprintf(text, size, "'%s' is not %s", value, type_words(type));
        return true;
    }
    if (strstr(m, "the content type is empty")) {
        snprintf(text, size, "%s between its tags, expected nothing%s",
                 *m == 'E' ? "there are elements" : "there is text or space",
                 *m == 'E' ? "" : ", not even a blank");
        return true;
    }
    if (strstr(m, "the type definition is simple")) {
        snprintf(text, size, "there are elements inside, expected text");
        return true;
    }
    if (strncmp(m, "No matching global declaration", 30) == 0) {
        snprintf(text, size, "stands in a namespace, expected none");
        return true;
    }
    if (strstr(m, "element-only")) {
        snprintf(text, size, "holds text between its elements");
        return true;
    }
    return false;
}

bool xml_words(int code, const char *message, char *subject,
               size_t subject_size, char *text, size_t text_size)
{
    char attribute[80] = "";
    const char *rest = message ? message : "";
    (void)code; /* the forms tell more than the codes */
    subject[0] = '\0';
    if (strncmp(rest, "Element '", 9) == 0 &&
        !quoted(rest, subject, subject_size, &rest))
        return false;
    if (strncmp(rest, ", attribute '", 13) == 0)
        quoted(rest, attribute, sizeof attribute, &rest);
    while (*rest == ':' || *rest == ' ')
        rest++;
    /* Echoes of a fault that has a message of its own. Values stand in quotes
     * and must not be taken for these words. */
    size_t plain = strcspn(rest, "'");
    const char *echo = strstr(rest, "No precomputed value");
    if (strncmp(rest, "Not all fields of key", 21) == 0 ||
        (echo && (size_t)(echo - rest) < plain))
        return false;
    char body[500];
    if (!body_words(rest, body, sizeof body))
        snprintf(body, sizeof body, "%.*s", (int)strcspn(rest, "\n"), rest);
    bool named = strncmp(body, "attribute '", 11) == 0;
    if (attribute[0] && !named)
        snprintf(text, text_size, "attribute '%s': %s", attribute, body);
    else
        snprintf(text, text_size, "%s", body);
    return true;
}
