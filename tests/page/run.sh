#!/bin/bash
# SPDX-License-Identifier: GPL-3.0-or-later
# The verb `page` as it is used: begins, tells its address, answers, ends on an interrupt with nothing left behind; wrong calls end
# with 2. Arguments: the command, the source folder.
set -u
command=$1 source=$2
unset DISPLAY WAYLAND_DISPLAY
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
bad=0

wants() { # CODE TEXT ARGUMENTS...: the exit code and a piece of what is said
    local code=$1 text=$2 said
    shift 2
    said=$("$command" page "$@" 2>&1 </dev/null)
    local got=$?
    if [ "$got" != "$code" ] || [[ $said != *"$text"* ]]; then
        echo "page $*: ended with $got (wanted $code): $said"
        bad=1
    fi
}
wants 0 "Usage: oilwright page" --help
wants 2 "--port is a whole number" --port 70000
wants 2 "--port is a whole number" --port x
wants 2 "go with --share" --may-save
wants 2 "cannot be opened" --folder "$work/none" --port 0
wants 2 "cannot be read" "$work/none.yaml"
wants 2 "nothing can be served" --share --address 192.0.2.7 --port 0
wants 2 "unknown option" --prot 1

ask() { # PORT PATH [HEADER]: status line and body
    exec 3<>"/dev/tcp/127.0.0.1/$1" || return 1
    printf 'GET %s HTTP/1.1\r\nHost: 127.0.0.1:%s\r\nConnection: close\r\n%s\r\n' "$2" "$1" "${3:-}" >&3
    cat <&3
    exec 3>&-
}
program=("$command")
serve() { # ARGUMENTS...: begins, sets pid, port and url
    : >"$work/out" # what the one before said must not be taken for this one's
    "${program[@]}" page "$@" --port 0 --no-browser >"$work/out" 2>&1 </dev/null &
    pid=$!
    for _ in $(seq 400); do
        grep -q 'Ctrl-C' "$work/out" && break
        sleep 0.05
    done
    url=$(sed -n 's/^The workshop page: //p' "$work/out")
    port=$(sed -E 's|^http://[0-9.]+:([0-9]+)/.*|\1|' <<<"$url")
}
finish() { # SIGNAL: must end soon, with 0
    kill -s "$1" "$pid"
    wait "$pid"
    local got=$?
    if [ "$got" != 0 ]; then
        echo "ended with $got on $1: $(cat "$work/out")"
        bad=1
    fi
}
expect() { # TEXT REPLY
    if [[ $2 != *"$1"* ]]; then
        echo "wanted \"$1\" in: ${2:0:400}"
        bad=1
    fi
}

serve "$source/examples/orchard-van.yaml"
expect "#file=orchard-van.yaml" "$url"
expect '"version"' "$(ask "$port" /api/start)"
expect 'orchard-van.yaml' "$(ask "$port" /api/start)"
expect '200 OK' "$(ask "$port" /)"
finish INT

serve --folder "$source/examples" --share --address 127.0.0.1
key=$(sed -n 's/.*?key=//p' <<<"$url")
expect "401" "$(ask "$port" /api/start)"
expect '"shared":true' "$(ask "$port" /api/start "Authorization: Bearer $key"$'\r\n')"
[ "$(wc -l <"$work/out")" -gt 15 ] || { echo "no code to scan"; bad=1; }
finish TERM

# A book that may only be read: known before a form is filled in for nothing. Root may write anything.
plain=()
[ "$(id -u)" != 0 ] || plain=(runuser -u nobody --)
if [ ${#plain[@]} = 0 ] || "${plain[@]}" true 2>/dev/null; then
    mkdir "$work/kept"
    cp "$command" "$work/oilwright"
    "$command" log --book "$work/kept/oilwright.book" vehicle van >/dev/null || bad=1
    chmod 444 "$work/kept/oilwright.book"
    chmod 755 "$work" "$work/oilwright"
    chmod 555 "$work/kept"
    program=("${plain[@]}" "$work/oilwright")
    serve --folder "$work/kept" --book "$work/kept/oilwright.book"
    said=$(ask "$port" /api/log/kinds)
    expect '"can_write":false' "$said"
    expect 'The logbook may only be read by whoever runs this page.' "$said"
    expect '"name":"van"' "$(ask "$port" /api/log/vehicles)"
    kill -s TERM "$pid"
    wait "$pid"
    chmod 755 "$work/kept"
fi
exit $bad
