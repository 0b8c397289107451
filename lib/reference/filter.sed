# Header as written, header as doxygen reads it: a page for each, with its functions on it instead of on the namespace's.
1i /// @file
/^namespace shotassay \{$/d
/^\}  \/\/ namespace shotassay$/d
# A backslash in a comment is one.
/^ *\/\/\//s|\\|\\\\|g
# Formulas keep their layout; "Units  ..." is a paragraph of that name.
s|^( *///)   +([^ ].*)|\1     \2|
s|^( *///) ([A-Z][a-z]+)  +(.*)|\1 @par \2\n\1 \3|
