/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a column's heading says: words of English, German, French, Spanish, Italian and Dutch. */
#include "format/heading.h"

#include <string.h>

/* --- words --------------------------------------------------------------------------------------
 */

/* As lists of parts have them; folded, so `lange` is Länge. A phrase stands for itself. */
static const struct {
    enum dw_meaning meaning;
    const char *words;
} words[] = {
    {DW_MEANS_LENGTH,
     "|length|lengths|len|lg|lgth|lngth|l|oal|overall length|cut length|cut size|"},
    {DW_MEANS_LENGTH, "|lange|laenge|zuschnitt|zuschnittlange|zuschnittlaenge|schnittlange|"
                      "schnittlaenge|sagelange|saegelaenge|fertiglange|einzellange|mass|"},
    {DW_MEANS_LENGTH, "|longueur|longueurs|long|longueur de coupe|longueur coupe|debit|"},
    {DW_MEANS_LENGTH, "|longitud|largo|longitud de corte|"},
    {DW_MEANS_LENGTH, "|lunghezza|lungh|lung|lunghezza taglio|"},
    {DW_MEANS_LENGTH, "|lengte|zaaglengte|lengtemaat|"},
    {DW_MEANS_COUNT, "|count|qty|qnty|qtty|quantity|quant|pcs|pc|pieces|ea|nos|how many|off|no off|"
                     "no of|number of|no of pieces|number of pieces|no of parts|no pieces|"
                     "number required|no reqd|no required|number off|"},
    {DW_MEANS_COUNT, "|stuck|stueck|stk|stck|st|anzahl|anz|menge|stuckzahl|stueckzahl|"},
    {DW_MEANS_COUNT, "|quantite|qte|nombre de pieces|nb|nbre|nb de pieces|nb pieces|nbr|"},
    {DW_MEANS_COUNT, "|cantidad|cant|cdad|uds|ud|unidades|piezas|pzas|pza|no de piezas|"},
    {DW_MEANS_COUNT, "|quantita|qta|q ta|pezzi|pz|numero pezzi|n pezzi|"},
    {DW_MEANS_COUNT, "|aantal|stuks|aant|hoeveelheid|"},
    {DW_MEANS_MATERIAL, "|material|mat|matl|mtl|tube|tubing|stock|profile|shape|"},
    {DW_MEANS_MATERIAL, "|werkstoff|rohr|profil|halbzeug|"},
    {DW_MEANS_MATERIAL, "|materiau|matiere|tubes|"},
    {DW_MEANS_MATERIAL, "|perfil|tubo|"},
    {DW_MEANS_MATERIAL, "|materiale|profilo|"},
    {DW_MEANS_MATERIAL, "|materiaal|profiel|buis|"},
    {DW_MEANS_REMARK, "|remark|remarks|rem|note|notes|comment|comments|"},
    {DW_MEANS_REMARK, "|bemerkung|bemerkungen|bem|anmerkung|anmerkungen|hinweis|notiz|kommentar|"},
    {DW_MEANS_REMARK, "|remarque|remarques|observation|observations|obs|commentaire|"},
    {DW_MEANS_REMARK, "|nota|notas|observacion|observaciones|comentario|comentarios|"},
    {DW_MEANS_REMARK, "|osservazione|osservazioni|annotazioni|commento|"},
    {DW_MEANS_REMARK, "|opmerking|opmerkingen|notitie|"},
    {DW_MEANS_LABEL, "|label|name|part|part name|description|descr|desc|descript|mark|piece|"
                     "designation|component|member|"},
    {DW_MEANS_LABEL, "|benennung|bezeichnung|bez|bauteil|teil|teilename|"},
    {DW_MEANS_LABEL, "|designation|libelle|nom|repere|"},
    {DW_MEANS_LABEL, "|descripcion|denominacion|pieza|nombre|marca|"},
    {DW_MEANS_LABEL, "|descrizione|denominazione|pezzo|nome|particolare|"},
    {DW_MEANS_LABEL, "|omschrijving|benaming|onderdeel|naam|merk|"},
    {DW_MEANS_ITEM, "|item|no|nr|num|number|pos|position|line|row|n|index|idx|rep|"},
    {DW_MEANS_ITEM,
     "|lfd|lfdnr|lfd nr|posnr|numero|num ro|posicion|posizione|positie|volgnr|regel|"},
    {DW_MEANS_UNIT, "|unit|units|uom|einheit|einh|me|unite|unidad|unita|um|eenheid|"},
    {DW_MEANS_ASIDE, "|kg|g|kgs|lb|lbs|weight|mass|wt|gewicht|poids|masse|peso|massa|"},
    {DW_MEANS_ASIDE, "|finish|surface|oberflache|oberflaeche|finition|acabado|finitura|afwerking|"},
    {DW_MEANS_ASIDE,
     "|rev|revision|version|index|drawing|drawing no|dwg|dwg no|zeichnung|zeichnungsnr|"
     "zeichnungsnummer|plano|disegno|tekening|"},
    {DW_MEANS_ASIDE,
     "|date|datum|fecha|data|done|checked|erledigt|gepruft|fait|hecho|fatto|klaar|"},
    {DW_MEANS_SUM, "|total|totals|tot|subtotal|sum|sums|"},
    {DW_MEANS_SUM, "|gesamt|ges|gesamtlange|gesamtlaenge|summe|summen|zwischensumme|insgesamt|"
                   "gesamtsumme|gesamtmenge|"},
    {DW_MEANS_SUM, "|totale|totaux|somme|cumul|"},
    {DW_MEANS_SUM, "|totales|suma|sumas|"},
    {DW_MEANS_SUM, "|totali|somma|subtotale|"},
    {DW_MEANS_SUM, "|totaal|totaallengte|som|subtotaal|"},
};

/* Words that add nothing: `length each`, `required qty`, `Länge je Stück`. */
static const char noise[] =
    "|each|per|the|of|for|req|reqd|required|net|fin|finished|finish|cut|overall|nominal|exact|in|"
    "der|die|das|je|pro|einzel|de|du|des|la|le|les|el|del|di|da|van|het|in|to|incl|coupe|corte|"
    "taglio|";

static bool is_among(const char *list, const char *word, size_t n)
{
    for (const char *at = list; (at = strchr(at, '|')) != NULL && at[1]; at++)
        if (strncmp(at + 1, word, n) == 0 && at[1 + n] == '|')
            return true;
    return false;
}

static enum dw_meaning find_word(const char *word, size_t n)
{
    for (size_t i = 0; i < DW_COUNT(words); i++)
        if (is_among(words[i].words, word, n))
            return words[i].meaning;
    return DW_MEANS_NOTHING;
}

/* --- folding --------------------------------------------------------------------------------- */

/* The letters that a character is written with where there are no accents; "" for one that is left
 * out, NULL for one that parts words. */
static const char *plain_letters(uint32_t code)
{
    static const char *const latin[] = {
        /* U+00E0 */ "a",
        "a",
        "a",
        "a",
        "a",
        "a",
        "ae",
        "c",
        "e",
        "e",
        "e",
        "e",
        "i",
        "i",
        "i",
        "i",
        "d",
        "n",
        "o",
        "o",
        "o",
        "o",
        "o",
        NULL,
        "o",
        "u",
        "u",
        "u",
        "u",
        "y",
        "th",
        "y",
    };
    if (code == 0xDF)
        return "ss";
    if (code >= 0xC0 && code <= 0xDE)
        code += 0x20;
    if (code >= 0xE0 && code <= 0xFF)
        return latin[code - 0xE0];
    if (code == 0x152 || code == 0x153)
        return "oe";
    bool silent = code == '\'' || code == 0x2019 || code == '.' || code == 0xB0 || code == 0xBA ||
                  code == 0xAA || (code >= 0x300 && code < 0x370);
    return silent ? "" : NULL;
}

char *dw_heading__fold(char out[DW_HEADING_TEXT], const char *text, size_t n)
{
    size_t used = 0;
    bool gap = false;
    for (size_t at = 0; at < n && used + 4 < DW_HEADING_TEXT;) {
        uint32_t code = 0;
        size_t length = dw_utf8__next(text + at, n - at, &code);
        char one[2] = {0};
        const char *letters = one;
        if (code >= 'A' && code <= 'Z')
            one[0] = (char)(code - 'A' + 'a');
        else if ((code >= 'a' && code <= 'z') || (code >= '0' && code <= '9'))
            one[0] = (char)code;
        else if (code == '#')
            letters = "nr";
        else
            letters = plain_letters(code);
        /* A point between letters parts words (`Qty.Pcs`), behind one it is left out. */
        bool parts = code == '.' && at + 1 < n && used > 0;
        at += length ? length : 1;
        if (!letters || parts) {
            gap = used > 0;
            continue;
        }
        if (gap && *letters)
            out[used++] = ' ';
        gap = gap && !*letters;
        while (*letters)
            out[used++] = *letters++;
    }
    out[used] = '\0';
    return out;
}

/* --- headings -------------------------------------------------------------------------------- */

static enum dw_unit find_unit(const char *word, size_t n)
{
    static const struct {
        const char *words;
        enum dw_unit unit;
    } others[] = {
        {"|zoll|pouce|pouces|po|pulgada|pulgadas|pulg|pollice|pollici|duim|inchs|", DW_UNIT_IN},
        {"|metro|metros|metri|mtr|mtrs|", DW_UNIT_M},
        {"|millimetros|milimetros|millimetre|millimetri|", DW_UNIT_MM},
        {"|fuss|pied|pieds|pie|pies|piede|piedi|voet|", DW_UNIT_FT},
    };
    enum dw_unit unit = dw_unit_find(word, n);
    for (size_t i = 0; unit == DW_UNIT_NONE && i < DW_COUNT(others); i++)
        if (is_among(others[i].words, word, n))
            unit = others[i].unit;
    return unit;
}

/* What the words of a heading say together. */
struct heading {
    enum dw_meaning meaning;
    enum dw_unit unit;
    bool in;      /* the word `in`, which is a unit or none */
    bool sum;     /* a word says total */
    bool aside;   /* a word is of DW_MEANS_ASIDE */
    bool unknown; /* a word says nothing that is known */
    bool clash;   /* two that can't be one column, or two units */
};

static void take_word(struct heading *heading, const char *word, size_t n)
{
    enum dw_meaning meaning = find_word(word, n);
    enum dw_unit unit = meaning == DW_MEANS_NOTHING ? find_unit(word, n) : DW_UNIT_NONE;
    if (n == 2 && memcmp(word, "in", 2) == 0)
        heading->in = true;
    else if (unit != DW_UNIT_NONE) {
        heading->clash |= heading->unit != DW_UNIT_NONE && heading->unit != unit;
        heading->unit = unit;
    } else if (meaning == DW_MEANS_SUM)
        heading->sum = true;
    else if (meaning == DW_MEANS_ASIDE)
        heading->aside = true;
    else if (meaning == DW_MEANS_NOTHING)
        heading->unknown |= !is_among(noise, word, n);
    else {
        bool other = heading->meaning != DW_MEANS_NOTHING && heading->meaning != meaning;
        heading->clash |= other && meaning <= DW_MEANS_COUNT && heading->meaning <= DW_MEANS_COUNT;
        if (meaning < heading->meaning)
            heading->meaning = meaning;
    }
}

/* Length of the longest phrase that is known and begins here, of three words at most; else of the
 * word: `q ta` of `q ta qty`. */
static size_t phrase_at(const char *at)
{
    size_t ends[3] = {strcspn(at, " ")}, n = 1;
    for (; n < DW_COUNT(ends) && at[ends[n - 1]]; n++)
        ends[n] = ends[n - 1] + 1 + strcspn(at + ends[n - 1] + 1, " ");
    while (n > 1 && find_word(at, ends[n - 1]) == DW_MEANS_NOTHING)
        n--;
    return ends[n - 1];
}

/* The words one by one; a unit that ends a heading, `length (in)`, is no noise. */
static struct heading read_words(const char *folded)
{
    struct heading heading = {.meaning = DW_MEANS_NOTHING};
    const char *last = "";
    for (const char *at = folded; *at;) {
        size_t n = phrase_at(at);
        take_word(&heading, at, n);
        last = at;
        at += n + (at[n] == ' ');
    }
    if (heading.in && heading.unit == DW_UNIT_NONE && strcmp(last, "in") == 0)
        heading.unit = DW_UNIT_IN;
    return heading;
}

static bool is_inch_mark(uint32_t code)
{
    return code == '"' || code == 0x2033 || code == 0x201C || code == 0x201D;
}

static bool is_foot_mark(uint32_t code)
{
    return code == '\'' || code == 0x2032 || code == 0x2019;
}

/* Unit of `Length (")` and `Length '`: one mark behind a blank, a bracket or a word. Two double
 * marks quote a word, a single one within it or right behind it is an apostrophe. */
static enum dw_unit marked_unit(const char *text, size_t n)
{
    size_t doubles = 0, feet = 0;
    uint32_t code = 0, before = ' ';
    for (size_t at = 0; at < n; before = code) {
        size_t length = dw_utf8__next(text + at, n - at, &code);
        at += length ? length : 1;
        bool ends = at >= n || strchr(" )]", text[at]) != NULL;
        doubles += is_inch_mark(code);
        feet += is_foot_mark(code) && ends && before < 0x80 && strchr(" ([/", (int)before) != NULL;
    }
    return doubles == 1 && feet == 0   ? DW_UNIT_IN
           : doubles == 0 && feet == 1 ? DW_UNIT_FT
                                       : DW_UNIT_NONE;
}

static enum dw_meaning read_heading(const char *text, size_t n, enum dw_unit *unit)
{
    char folded[DW_HEADING_TEXT];
    *unit = DW_UNIT_NONE;
    dw_heading__fold(folded, text, n);
    enum dw_meaning whole = folded[0] ? find_word(folded, strlen(folded)) : DW_MEANS_NOTHING;
    if (whole != DW_MEANS_NOTHING)
        return whole;
    struct heading heading = read_words(folded);
    bool measured = heading.meaning == DW_MEANS_LENGTH || heading.meaning == DW_MEANS_NOTHING;
    bool known = heading.meaning != DW_MEANS_NOTHING;
    if (heading.aside && !known && !heading.unknown && heading.unit == DW_UNIT_NONE)
        return DW_MEANS_ASIDE;
    if (heading.aside || heading.unknown || heading.clash ||
        (heading.unit != DW_UNIT_NONE && !measured))
        return DW_MEANS_NOTHING;
    *unit = heading.unit;
    if (heading.meaning == DW_MEANS_NOTHING && !heading.sum &&
        (heading.unit == DW_UNIT_MM || heading.unit == DW_UNIT_CM))
        return DW_MEANS_LENGTH;
    if (heading.sum && heading.meaning != DW_MEANS_COUNT)
        return DW_MEANS_SUM;
    return heading.meaning;
}

enum dw_meaning dw_heading__read(const char *text, size_t n, enum dw_unit *unit)
{
    enum dw_meaning meaning = read_heading(text, n, unit);
    if (meaning == DW_MEANS_LENGTH && *unit == DW_UNIT_NONE)
        *unit = marked_unit(text, n);
    return meaning;
}

const char *dw_heading__field(enum dw_meaning meaning)
{
    static const char *const fields[] = {
#define FIELD_ROW(name, field) [name] = field,
        DW_MEANING_LIST(FIELD_ROW)
#undef FIELD_ROW
    };
    return fields[meaning];
}

/* --- cells ----------------------------------------------------------------------------------- */

bool dw_heading__is_total(const char *text, size_t n, bool *exactly)
{
    char folded[DW_HEADING_TEXT];
    bool any = false, all = true;
    dw_heading__fold(folded, text, n);
    for (const char *at = folded; *at;) {
        size_t length = strcspn(at, " ");
        bool sum = find_word(at, length) == DW_MEANS_SUM;
        any |= sum;
        all &= sum || is_among("|grand|sous|sub|general|generale|", at, length) ||
               find_unit(at, length) != DW_UNIT_NONE || find_word(at, length) == DW_MEANS_COUNT ||
               find_word(at, length) == DW_MEANS_LENGTH;
        at += length + (at[length] == ' ');
    }
    *exactly = any && all;
    return any;
}

enum dw_unit dw_heading__unit(const char *text, size_t n)
{
    char folded[DW_HEADING_TEXT];
    dw_heading__fold(folded, text, n);
    return folded[0] ? find_unit(folded, strlen(folded)) : DW_UNIT_NONE;
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (unsigned char)c >= 0x80;
}

void dw_heading__bare_count(const char **text, size_t *n)
{
    const char *begin = *text, *end = *text + *n;
    const char *word = end;
    while (word > begin && (is_letter(word[-1]) || word[-1] == '.'))
        word--;
    char folded[DW_HEADING_TEXT];
    dw_heading__fold(folded, word, (size_t)(end - word));
    bool known = word < end &&
                 (find_word(folded, strlen(folded)) == DW_MEANS_COUNT || strcmp(folded, "x") == 0);
    if (known)
        end = word;
    if (begin + 1 < end && (*begin == 'x' || *begin == 'X'))
        begin++;
    while (begin < end && *begin == ' ')
        begin++;
    while (end > begin && end[-1] == ' ')
        end--;
    if (end - begin > 2 && end[-1] == '0') { /* `4,0` and `4.00` of a column with decimals */
        const char *mark = end - (end[-2] == '0' ? 3 : 2);
        end = mark > begin && (*mark == ',' || *mark == '.') ? mark : end;
    }
    bool digits = begin < end;
    for (const char *at = begin; at < end; at++)
        digits &= *at >= '0' && *at <= '9';
    if (!digits)
        return;
    *text = begin;
    *n = (size_t)(end - begin);
}

/* --- lines above a list ----------------------------------------------------------------------- */

static bool is_digits(const char *word, size_t n)
{
    size_t i = 0;
    while (i < n && word[i] >= '0' && word[i] <= '9')
        i++;
    return n > 0 && i == n;
}

/* A number of pieces or sets: from 2, of at most four digits. */
static bool is_many(const char *word, size_t n)
{
    return is_digits(word, n) && n <= 4 && !(n == 1 && word[0] < '2');
}

static bool is_times_word(const char *word, size_t n)
{
    return find_word(word, n) == DW_MEANS_COUNT ||
           is_among(
               "|set|sets|make|times|unit|units|frames|kits|satz|saetze|satze|sets|mal|rahmen|jeu|"
               "jeux|fois|juego|juegos|veces|serie|volte|stel|stellen|keer|",
               word, n);
}

/* `x3` or `3x`, with nothing like it beside: not the size of a profile. */
static bool is_crossed(const char *word, size_t n)
{
    return n > 1 && ((word[0] == 'x' && is_many(word + 1, n - 1)) ||
                     (word[n - 1] == 'x' && is_many(word, n - 1)));
}

bool dw_heading__is_times(const char *text, size_t n)
{
    char folded[DW_HEADING_TEXT];
    bool number = false, word = false, cross = false;
    dw_heading__fold(folded, text, n);
    for (const char *at = folded; *at;) {
        size_t length = strcspn(at, " ");
        bool is_number = is_many(at, length), is_cross = length == 1 && *at == 'x';
        bool is_word = is_times_word(at, length);
        if ((is_number && word) || (is_word && number) || is_crossed(at, length) ||
            (is_number && cross))
            return true;
        cross = is_cross && !number;
        number = is_number;
        word = is_word;
        at += length + (at[length] == ' ');
    }
    return false;
}

enum dw_unit dw_heading__speaks_of(const char *text, size_t n)
{
    char folded[DW_HEADING_TEXT];
    enum dw_unit found = DW_UNIT_NONE;
    bool number = false, in = false;
    dw_heading__fold(folded, text, n);
    for (const char *at = folded; *at;) {
        size_t length = strcspn(at, " ");
        bool is_in = length == 2 && (memcmp(at, "in", 2) == 0 || memcmp(at, "en", 2) == 0);
        enum dw_unit unit = is_in ? DW_UNIT_NONE : find_unit(at, length);
        if (unit != DW_UNIT_NONE && !number && (in || length > 1) && unit != DW_UNIT_FT)
            found = unit;
        else if (unit == DW_UNIT_FT && !number && in)
            found = unit;
        number = at[0] >= '0' && at[0] <= '9';
        in = is_in;
        at += length + (at[length] == ' ');
    }
    return found;
}
