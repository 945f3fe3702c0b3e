# Runs a PostgreSQL server for as long as standard input stays open, then removes it.
#
#   sh server.sh FOLDER BIN
#
# FOLDER must not exist; BIN holds initdb and postgres. Says "ready" on standard output once the
# server answers on a Unix socket in FOLDER; what goes wrong is said on standard output too. The
# server refuses to run as root, so root hands it over to the user postgres.
folder=$1
bin=$2
# What ends the tests must not end this before it has cleaned up.
trap '' INT TERM HUP
# Held open, it would keep whoever reads the tests' output waiting.
exec 2>/dev/null

run() {
    if [ "$(id -u)" = 0 ]; then
        setpriv --reuid=postgres --regid=postgres --clear-groups "$@"
    else
        "$@"
    fi
}

server=
finish() {
    # The job is a shell of its own when it was started through `run`; the server says its number.
    if [ -f "$folder/data/postmaster.pid" ]; then
        kill -INT "$(head -n 1 "$folder/data/postmaster.pid")"
        wait "$server"
    fi
    rm -rf "$folder"
}

umask 077
mkdir "$folder" || { echo "cannot make $folder"; exit 1; }
if [ "$(id -u)" = 0 ]; then
    chown postgres: "$folder" || { echo "there is no user postgres"; finish; exit 1; }
fi
cd "$folder" || exit 1

# The locale is the tests' own choice: no answer of the store may depend on it.
if ! run "$bin/initdb" -D "$folder/data" -U postgres --auth=trust --encoding=UTF8 \
    --locale=C.UTF-8 >"$folder/initdb.log" 2>&1; then
    echo "initdb failed: $(tail -n 3 "$folder/initdb.log" | tr '\n' ' ')"
    finish
    exit 1
fi

run "$bin/postgres" -D "$folder/data" -k "$folder" -c listen_addresses='' \
    -c max_connections=200 -c shared_buffers=32MB >"$folder/server.log" 2>&1 </dev/null &
server=$!

tries=0
until run "$bin/pg_isready" -q -h "$folder" -U postgres -d postgres; do
    tries=$((tries + 1))
    if [ $tries -gt 300 ] || ! kill -0 "$server" 2>/dev/null; then
        echo "the server does not answer: $(tail -n 3 "$folder/server.log" | tr '\n' ' ')"
        finish
        exit 1
    fi
    sleep 0.1
done
echo ready
# Nothing is ever written to it: this ends when whoever started the server has ended.
read -r _
finish
