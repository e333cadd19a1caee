// Package inert shows texts from outside without letting them act. A file, a key or a name may hold characters that a terminal, a
// spreadsheet or a browser takes for orders: control characters, those that turn the direction of writing, and those that
// nobody sees. Everything that the program writes passes one of the writers here, and such characters come out as escapes.
package inert

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// turns are the characters that turn the direction of writing: the explicit and implicit formatting characters of Unicode
// Standard Annex #9, "Unicode Bidirectional Algorithm", sections 2.1 to 2.6, which are those with the property Bidi_Control.
var turns = &unicode.RangeTable{R16: []unicode.Range16{
	{Lo: 0x061c, Hi: 0x061c, Stride: 1}, // ALM
	{Lo: 0x200e, Hi: 0x200f, Stride: 1}, // LRM, RLM
	{Lo: 0x202a, Hi: 0x202e, Stride: 1}, // LRE, RLE, PDF, LRO, RLO
	{Lo: 0x2066, Hi: 0x2069, Stride: 1}, // LRI, RLI, FSI, PDI
}}

// Acts reports whether a character does something other than being seen: controls (the newline and the tab among them), those that
// turn the direction of writing, and everything else without a shape of its own. A blank is seen; and what joins letters or
// keeps them apart is a part of words in several scripts.
func Acts(r rune) bool {
	const apart, joined = 0x200c, 0x200d
	if r >= ' ' && r < 0x7f || r == apart || r == joined {
		return false
	}
	return !unicode.IsGraphic(r) || unicode.Is(turns, r)
}

// Text is a text as it may be shown: what acts is an escape, \u001b say, and so is a byte that is no UTF-8, as in \xff. Newlines
// and tabs stay.
func Text(s string) string {
	return escape(s, func(r rune) bool { return r != '\n' && r != '\t' && Acts(r) })
}

// Line is Text for what stands in one line, such as the name of a file: newlines and tabs are escapes too.
func Line(s string) string { return escape(s, Acts) }

func escape(s string, acts func(rune) bool) string {
	var b strings.Builder
	kept := 0 // up to here s has been taken over
	for i := 0; i < len(s); {
		r, n := utf8.DecodeRuneInString(s[i:])
		if bad := r == utf8.RuneError && n == 1; bad || acts(r) {
			b.WriteString(s[kept:i])
			if bad {
				fmt.Fprintf(&b, `\x%02x`, s[i])
			} else {
				b.WriteString(escaped(r))
			}
			kept = i + n
		}
		i += n
	}
	if kept == 0 {
		return s
	}
	b.WriteString(s[kept:])
	return b.String()
}

// escaped is a character as an escape.
func escaped(r rune) string {
	if r > 0xffff {
		return fmt.Sprintf(`\U%08x`, r)
	}
	return fmt.Sprintf(`\u%04x`, r)
}
