#!/bin/sh
# A throwaway PostgreSQL for the tests, reached by a socket in a folder of its own.
# Prints its URL once it is ready, and stops when its standard input closes: so it
# goes away with the test program, however that ends.
set -eu

bin=$(ls -d /usr/lib/postgresql/*/bin 2>/dev/null | sort -V | tail -n 1)
if [ -z "$bin" ]; then
    initdb=$(command -v initdb) || { echo "no PostgreSQL here: set PG_URL, or install the package 'postgresql'" >&2; exit 1; }
    bin=$(dirname "$initdb")
fi
folder=$(mktemp -d)
as=""
# initdb and postgres refuse to run as root.
if [ "$(id -u)" = 0 ]; then
    chown postgres "$folder"
    as="setpriv --reuid=postgres --regid=postgres --init-groups"
fi
stop() {
    cd "$folder"
    $as "$bin/pg_ctl" -D "$folder/data" -m immediate -s stop >/dev/null 2>&1 || true
    cd /
    rm -rf "$folder"
}
trap stop EXIT

# The user postgres may not enter the caller's folder.
cd "$folder"
$as "$bin/initdb" -D "$folder/data" -U postgres -A trust -E UTF8 --locale=C.UTF-8 --no-sync >/dev/null
$as "$bin/pg_ctl" -D "$folder/data" -w -s -l "$folder/log" \
    -o "-k $folder -c listen_addresses='' -c fsync=off -c synchronous_commit=off -c full_page_writes=off -c max_connections=300" \
    start >/dev/null
echo "postgres://postgres@localhost/postgres?host=$folder"
cat >/dev/null
