# Completion of dwellog-verify for bash: the options of the installed program, and files.
_dwellog_verify()
{
    local cur=${COMP_WORDS[COMP_CWORD]}
    if [[ $cur == -* ]]; then
        local options
        options=$("${COMP_WORDS[0]}" --help 2>/dev/null | sed -n 's/^  \(-[^ ]*\).*/\1/p' |
            tr ',' '\n' | grep '^--')
        mapfile -t COMPREPLY < <(compgen -W "$options" -- "$cur")
        return
    fi
    mapfile -t COMPREPLY < <(compgen -f -- "$cur")
    compopt -o filenames 2>/dev/null
}
complete -F _dwellog_verify dwellog-verify
