#!/bin/sh
# Ask for known vulnerabilities of every locked package: sh requirements/audit.sh
#
# Wants `sh install.sh audit` and the index's database. Ends with 0 where none is known, 1 where some
# are, which it lists, 3 where the database cannot be asked.
set -eu
cd "$(dirname "$0")"
set --
for lock in *.lock; do
    set -- "$@" --requirement "$lock"
done
# Strict: what is in no database is not taken for sound.
if said="$(../.venv/bin/pip-audit --strict --disable-pip --require-hashes --progress-spinner off "$@" 2>&1)"; then
    echo "$said"
    exit 0
fi
case "$said" in
    *"known vulnerabilit"*)
        echo "$said"
        exit 1
        ;;
esac
echo "known vulnerabilities could not be asked for: $(echo "$said" | tail -n 1)" >&2
exit 3
