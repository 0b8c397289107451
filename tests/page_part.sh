# shellcheck shell=sh
# Sourced by the scripts that make tables of docs.

# put_part PAGE MAKER PART FILE: what FILE holds stands between the page's marks of MAKER and PART, in place of what stood
# there. Fails, and leaves the page, where it has not both marks.
put_part() {
  from="<!-- made by $2 $3 -->" to="<!-- end of $3 -->"
  if ! grep -qxF "$from" "$1" || ! grep -qxF "$to" "$1"; then
    printf '%s\n' "$1 lacks the marks: $from, $to" >&2
    return 1
  fi
  page_anew=$(mktemp)
  awk -v result="$4" -v from="$from" -v to="$to" '
    $0 == to { while ((getline line < result) > 0) print line; print ""; inside = 0 }
    !inside { print }
    $0 == from { print ""; inside = 1 }' "$1" >"$page_anew"
  cat "$page_anew" >"$1"
  rm -f "$page_anew"
}
