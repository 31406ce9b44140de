#!/bin/sh
# SPDX-License-Identifier: MIT
# Data flows one way: a module of src/ includes only itself and what stands
# before it in this list.
set -eu
cd "$(dirname "$0")/.."
order='base geom model mesh context survey plan station locate indication quality tap scene draw write run cli'
bad=0
for module in $order; do
    later=${order#*"$module"}
    for l in $later; do
        if grep -nE "#include \"($l/|ductmark/$l\.h)" src/"$module"/*.[ch]; then
            echo "$module must not include $l"
            bad=1
        fi
    done
done
# Each library is included in one place.
one() {
    n=$(grep -lE "#include <$1" src/*/*.[ch] | wc -l)
    [ "$n" -le "$2" ] || {
        echo "<$1> is included in $n files, expected at most $2:"
        grep -lE "#include <$1" src/*/*.[ch]
        bad=1
    }
}
one libxml/ 1
one assimp/ 1
one embree3/ 1
one openssl/ 1
one uuid/ 1
one pango/ 1
one cairo 1
one qrencode 1
one pthread.h 1
[ $bad -eq 0 ] && echo "include directions: good"
