# SPDX-License-Identifier: GPL-3.0-or-later
# Completion of dropwise in bash. The program itself says what may follow.
_dropwise()
{
    local word=${COMP_WORDS[COMP_CWORD]} said ending
    local -a endings=()
    COMPREPLY=()
    while IFS=$'\t' read -r said _; do
        case $said in
        '*' | '*.'*) endings+=("$said") ;;
        -*) [[ $word == -* && $said == "$word"* ]] && COMPREPLY+=("$said") ;;
        *) [[ $said == "$word"* ]] && COMPREPLY+=("$(printf '%q' "$said")") ;;
        esac
    done < <(dropwise help --next -- "${COMP_WORDS[@]:1:COMP_CWORD-1}" 2>/dev/null)
    if [[ ${#endings[@]} -gt 0 && $word != -* ]]; then
        compopt -o filenames 2>/dev/null
        while IFS= read -r said; do COMPREPLY+=("$said"); done < <(
            compgen -d -- "$word"
            for ending in "${endings[@]}"; do compgen -f -X "!$ending" -- "$word"; done | while IFS= read -r said; do
                [ -d "$said" ] || printf '%s\n' "$said"
            done
        )
    fi
}
complete -F _dropwise dropwise
