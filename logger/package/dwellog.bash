# Completion of dwellog for bash. Commands, options and their choices are those that the installed
# program's --help names, so that they are never older than the program.
_dwellog()
{
    local cur prev words cword
    if declare -F _init_completion >/dev/null; then
        _init_completion || return
    else
        cur=${COMP_WORDS[COMP_CWORD]} prev=${COMP_WORDS[COMP_CWORD - 1]}
        words=("${COMP_WORDS[@]}") cword=$COMP_CWORD
    fi
    local program=${words[0]}
    if ((cword == 1)); then
        local commands
        commands=$("$program" --help 2>/dev/null | sed -n '/^Subcommands:/,/^$/s/^  \([a-z][a-z-]*\) .*/\1/p')
        mapfile -t COMPREPLY < <(compgen -W "$commands --help --version" -- "$cur")
        return
    fi
    local help choices
    help=$("$program" "${words[1]}" --help 2>/dev/null)
    if [[ $prev == -* ]]; then
        # An option with choices: --units TEXT:{metric,imperial}=metric
        choices=$(sed -n "s/^  \(.*,\)\{0,1\}${prev//\//} [A-Z]*:{\([^}]*\)}.*/\2/p" <<<"$help" | tr ',' ' ')
        if [[ -n $choices ]]; then
            mapfile -t COMPREPLY < <(compgen -W "$choices" -- "$cur")
            return
        fi
    fi
    if [[ $cur == -* ]]; then
        local options
        options=$(sed -n 's/^  \(-[^ ]*\).*/\1/p' <<<"$help" | tr ',' '\n' | grep '^--')
        mapfile -t COMPREPLY < <(compgen -W "$options" -- "$cur")
        return
    fi
    # A positional with choices beside folders and files, as the actions of `keys`.
    choices=$(sed -n 's/^  [A-Z]* [A-Z]*:{\([^}]*\)}.*/\1/p' <<<"$help" | tr ',' ' ')
    mapfile -t COMPREPLY < <(compgen -f -- "$cur"; ((cword > 2)) && compgen -W "$choices" -- "$cur")
    compopt -o filenames 2>/dev/null
}
complete -F _dwellog dwellog
