#pragma once

namespace shotassay::document {

/// Can a character be shown as it is? A terminal obeys none of these and shows all of them; no control character, no
/// invisible or direction-changing mark, no code that is no character. `printable` escapes the others.
bool is_printable(char32_t code);

}  // namespace shotassay::document
