# SPDX-License-Identifier: GPL-3.0-or-later
# Completion of dropwise in fish. The program itself says what may follow.
function __dropwise_next
    set -l typed (commandline -opc)
    set -l word (commandline -ct)
    for line in (dropwise help --next -- $typed[2..-1] 2>/dev/null)
        switch $line
            case '\**'
                set -l ending (string split -f 1 \t -- $line | string sub -s 2)
                for file in (__fish_complete_path $word | string split -f 1 \t)
                    string match -q -- '*/' $file; or string match -q -- "*$ending" $file
                    and echo $file
                end
            case '-*'
                string match -q -- '-*' $word; and echo $line
            case '*'
                echo $line
        end
    end
end
complete -c dropwise -f -a '(__dropwise_next)'
