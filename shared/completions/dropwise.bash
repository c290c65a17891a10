# SPDX-License-Identifier: GPL-3.0-or-later
# Completion of dropwise in bash. The program itself says which words may follow.
_dropwise()
{
    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]}
    local command=${COMP_WORDS[1]} topic part words
    COMPREPLY=()
    if ((COMP_CWORD == 1)); then
        words=$(dropwise help --words 2>/dev/null | cut -f1)
        mapfile -t COMPREPLY < <(compgen -W "$words" -- "$word")
        return
    fi
    topic=$command
    part=$(dropwise help --words "$command" 2>/dev/null | cut -f1 | grep -v '^--')
    if [ -n "$part" ] && ((COMP_CWORD == 2)); then
        mapfile -t COMPREPLY < <(compgen -W "$part" -- "$word")
        return
    fi
    [ -n "$part" ] && topic="$command ${COMP_WORDS[2]}"
    if [[ $before == --* ]]; then
        words=$(dropwise help --words -- "$topic" "${before#--}" 2>/dev/null | cut -f1)
        if [ -n "$words" ]; then
            mapfile -t COMPREPLY < <(compgen -W "$words" -- "$word")
            return
        fi
    fi
    if [[ $word == -* ]]; then
        words=$(dropwise help --words "$topic" 2>/dev/null | cut -f1 | grep '^--')
        mapfile -t COMPREPLY < <(compgen -W "$words" -- "$word")
    elif [[ $command == help ]]; then
        words=$(dropwise help --words 2>/dev/null | cut -f1)
        mapfile -t COMPREPLY < <(compgen -W "$words" -- "$word")
    else
        compopt -o filenames 2>/dev/null
        mapfile -t COMPREPLY < <(compgen -f -- "$word")
    fi
}
complete -F _dropwise dropwise
