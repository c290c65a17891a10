# SPDX-License-Identifier: GPL-3.0-or-later
# The reference of the job file as a manual page, dropwise-job(5), from shared/FORMAT.md: headings,
# paragraphs, lists, tables and code, as far as that file uses them.
# usage: awk -v version=0.1.0 -v date=2026-01-31 -f job_page.awk shared/FORMAT.md

function troff(text,    out, parts, n, i) {
    gsub(/\\/, "\\e", text)
    gsub(/-/, "\\-", text)
    gsub(/\*\*/, "", text)
    while (match(text, /\[[^\]]*\]\([^)]*\)/)) { # [words](place): the words
        out = substr(text, RSTART + 1, RLENGTH - 1)
        sub(/\].*/, "", out)
        text = substr(text, 1, RSTART - 1) out substr(text, RSTART + RLENGTH)
    }
    n = split(text, parts, "`")
    out = parts[1]
    for (i = 2; i <= n; i++) out = out (i % 2 ? "\\fR" : "\\fB") parts[i]
    if (out ~ /^[.']/) out = "\\&" out
    return out
}

function end_text() { if (text != "") print troff(text); text = "" }

# A row of a table: its first cell is the term, the others tell of it, the third under its heading.
function row(line,    cell, n, i, told) {
    gsub(/^\| *| *\|$/, "", line)
    gsub(/\\\|/, "\001", line)
    n = split(line, cell, / *\| */)
    for (i = 1; i <= n; i++) gsub(/\001/, "|", cell[i])
    if (!in_table) {
        in_table = 1
        third = cell[3]
        return
    }
    told = cell[2]
    if (cell[3] != "") told = told "; " third ": " cell[3]
    printf ".TP\n%s\n", troff(cell[1])
    if (told != "") print troff(told)
}

BEGIN {
    printf ".TH DROPWISE\\-JOB 5 %s \"dropwise %s\" \"File Formats\"\n", date, version
    print ".SH NAME\ndropwise\\-job \\- the job file that dropwise reads"
}
/^<!--/ { next }
/^```/ {
    end_text()
    if (code) print ".fi\n.RE"
    else print (fresh ? "" : ".PP\n") ".RS 4\n.nf"
    code = !code
    fresh = 0
    after = 1
    next
}
code {
    gsub(/\\/, "\\e")
    gsub(/-/, "\\-")
    if ($0 ~ /^[.']/) $0 = "\\&" $0
    print
    next
}
/^#/ {
    end_text()
    title = $0
    sub(/^#+ /, "", title)
    if (!seen++) title = "Description"
    print ".SH " toupper(title)
    after = in_table = 0
    fresh = 1
    next
}
/^\|[ -|]*$/ && /---/ { next }
/^\|/ { end_text(); row($0); fresh = 0; after = 1; next }
/^$/ { end_text(); in_table = 0; after = !fresh; next }
/^- / {
    end_text()
    print ".IP \\(bu 3"
    text = substr($0, 3)
    fresh = 0
    after = 1
    next
}
{
    sub(/^ +/, "")
    if (text == "" && after) print ".PP"
    text = text == "" ? $0 : text "\n" $0
    fresh = after = 0
}
END {
    end_text()
    print ".SH SEE ALSO\n.BR dropwise (1),\n.BR dropwise\\-check (1),\n.BR dropwise\\-plan (1)"
}
