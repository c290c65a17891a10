# SPDX-License-Identifier: GPL-3.0-or-later
# Lists the single changes that can be made to C sources, one a line, in an order drawn by `seed`:
#   key <tab> file <tab> line <tab> the line as it is <tab> the line changed
# usage: awk -v seed=1 -f changes.awk FILES     (then sort -n)

# A number below 2^31 - 1 that a text and the seed give, so that a change to one source draws no
# other changes in the rest: steps of Lehmer 1951 with the constants of Park and Miller 1988, and
# products of the halves, all exact in a double.
function hash(text,    h, i) {
    h = seed * 48271 % 2147483647
    for (i = 1; i <= length(text); i++)
        h = (h * 16807 + code_of[substr(text, i, 1)]) % 2147483647
    for (i = 0; i < 3; i++)
        h = (h % 65536 * 8388593 + int(h / 65536) * 16807 + seed) % 2147483647
    return h
}

# The file counts by its name alone, and a line that is there twice by which it is.
function offer(changed,    name, text) {
    name = FILENAME
    sub(/.*\//, "", name)
    text = name "\t" $0 "\t" changed
    printf "%010d\t%s\t%d\t%s\t%s\n", hash(text "\t" ++times[text]), FILENAME, FNR, $0, changed
}

# Puts `new` for `n` characters from `at` on.
function put(at, n, new) { offer(substr($0, 1, at - 1) new substr($0, at + n)) }

# Every place of an operator that stands between blanks, outside texts and comments.
function swap(old, new,    from, at) {
    from = 1
    while ((at = index(substr(code, from), " " old " ")) > 0) {
        put(from + at, length(old), new)
        from += at + length(old)
    }
}

# Whole numbers, by one more or by one less; room by one less alone, since more than enough of it
# makes no difference.
function step_numbers(    at, from, n, value, before, after, more) {
    from = 1
    while (match(substr(code, from), /[0-9]+/)) {
        at = from + RSTART - 1
        n = RLENGTH
        value = substr(code, at, n)
        before = at > 1 ? substr(code, at - 1, 1) : " "
        after = substr(code, at + n, 1)
        from = at + n
        if (before ~ /[A-Za-z_0-9.]/ || after ~ /[A-Za-z_0-9.]/ || n > 6)
            continue
        if (before == "{" && after == "}" && value == "0") # {0}: all of it
            continue
        more = hash($0 at) % 2 || value == 0
        if (more && (code ~ /alloc\(/ || code ~ /^ +(char|int|double|size_t) [^=(]*;$/)) # more room
            more = 0
        if (more || value > 0)
            put(at, n, value + (more ? 1 : -1))
    }
}

# What is left of a line when texts, characters and comments are blanked out.
function blank(line,    out, i, c, in_text, quote) {
    out = ""
    in_text = 0
    for (i = 1; i <= length(line); i++) {
        c = substr(line, i, 1)
        if (in_comment) {
            if (substr(line, i, 2) == "*/") {
                in_comment = 0
                out = out " "
                i++
            }
            out = out " "
        } else if (in_text) {
            out = out "~"
            if (c == "\\") {
                out = out "~"
                i++
            } else if (c == quote) {
                in_text = 0
            }
        } else if (substr(line, i, 2) == "/*") {
            in_comment = 1
            out = out "  "
            i++
        } else if (c == "\"" || c == "'") {
            in_text = 1
            quote = c
            out = out "~"
        } else {
            out = out c
        }
    }
    return out
}

function balance(text) { return gsub(/\(/, "", text) - gsub(/\)/, "", text) }

# A call or an assignment that is whole on its line, or a jump out of or on with a loop.
function drop_statement(    lead) {
    if (code !~ /^ +.*;$/ || before_code !~ /([;{}:)]|else|do)$/ || balance(code) != 0)
        return
    if (code !~ /^ +(break|continue);$/ && code !~ /^ +(\+\+|--|\*|\()?[a-z_][A-Za-z0-9_>.\[\]-]*( [-+*\/|&^%]?= |(<<|>>)= |\+\+;|--;|\()/ &&
        code !~ /^ +(\+\+|--)[*a-z]/)
        return
    if (code ~ /^ +(return|goto|case|for|while|if|sizeof|else|do|switch)[ (]/)
        return
    match(code, /^ +/)
    offer(substr($0, 1, RLENGTH) ";")
}

BEGIN { for (i = 1; i < 256; i++) code_of[sprintf("%c", i)] = i }
FNR == 1 { in_comment = 0; before_code = "" }
{
    code = blank($0)
    sub(/ +$/, "", code)
}
code !~ /^ / || code ~ /^ *$/ || code ~ /^ *(\.|#|static const|struct [a-z_]+ \*?[a-z_]+;)/ || /\\$/ {
    if (code !~ /^ *$/)
        before_code = code
    next
}
{
    swap("<", "<="); swap("<=", "<"); swap(">", ">="); swap(">=", ">")
    swap("==", "!="); swap("!=", "==")
    swap("&&", "||"); swap("||", "&&")
    swap("+", "-"); swap("-", "+"); swap("+=", "-="); swap("-=", "+=")
    step_numbers()
    drop_statement()
    before_code = code
}
