package draft

import (
	"regexp"
	"slices"
	"strings"
	"unicode"
)

// leaders are the characters that lead the eye from a challenge to its response: full stop, middle dot, one, two and three dot
// leaders, bullet operator, underscore.
const leaders = ".·․‥…⋅_"

var (
	// A row of leaders, with or without blanks in between; one ellipsis is a row already, and so are two leaders between blanks.
	leaderRow = regexp.MustCompile(`\s*(?:[.·․⋅_](?: ?[.·․‥…⋅_]){2,}|[‥…](?: ?[.·․‥…⋅_])*)\s*|\s+[.·․⋅_]{2}\s+`)
	columns   = regexp.MustCompile(`\t+ *| {3,}`)
	arrow     = regexp.MustCompile(`\s*(?:→|⟶|[-=]+>)\s*`)
	colon     = regexp.MustCompile(`\s*[:=]\s+`)
	dash      = regexp.MustCompile(`\s+[-–—]+\s+`)
	comma     = regexp.MustCompile(`\s*,\s*`)
	bullet    = regexp.MustCompile(`^(?:[-*+•▪◦□☐☑✓]\s+|\[[ xX]?\]\s*|\(?(?:\d{1,3}|[a-zA-Z])[.)](?:\d{1,3}[.)]?)*\s+)+`)
	ruler     = regexp.MustCompile(`^[-=_*~#+.·…\s]{3,}$`)
)

// titleLetters is how many letters at least a row in capitals has that is taken for a title: names such as VHF COM have fewer.
const titleLetters = 8

// readText reads a checklist in plain text.
func readText(b *builder, text string) {
	rows := strings.Split(text, "\n")
	blank := true                                              // what stands before this row
	mixed := slices.ContainsFunc(rows, func(row string) bool { // not all of the list is in capitals
		_, _, found := split(row, false)
		return found && !shouted(row)
	})
	for i, row := range rows {
		trimmed := strings.TrimSpace(row)
		if trimmed == "" || ruler.MatchString(trimmed) {
			blank = true
			continue
		}
		trimmed = strings.TrimSpace(bullet.ReplaceAllString(trimmed, ""))
		challenge, response, found := split(trimmed, false)
		underlined := i+1 < len(rows) && ruler.MatchString(rows[i+1]) && strings.TrimSpace(rows[i+1]) != ""
		framed := strings.HasPrefix(trimmed, "=") || strings.HasPrefix(trimmed, "#") || strings.HasPrefix(trimmed, "[")
		switch {
		case b.holdOn(trimmed):
		case framed:
			b.heading(strings.Trim(trimmed, "=#*-[] "))
		case underlined && !strong(trimmed):
			b.heading(trimmed)
		case found && !strong(trimmed) && b.begun() && (i+1 == len(rows) || strings.TrimSpace(rows[i+1]) == ""):
			b.heading(trimmed) // the second row of a title
		case !found && (blank || strings.HasSuffix(trimmed, ":") || mixed && titled(trimmed)):
			b.heading(trimmed)
		default:
			b.line(i+1, challenge, response)
		}
		blank = false
	}
}

// shouted reports whether all letters of a row are capitals.
func shouted(row string) bool {
	return strings.ContainsFunc(row, unicode.IsLetter) && !strings.ContainsFunc(row, unicode.IsLower)
}

// titled reports whether a row in capitals is a title, and not a name of few letters.
func titled(row string) bool {
	letters := 0
	for _, r := range row {
		if unicode.IsLetter(r) {
			letters++
		}
	}
	return letters >= titleLetters && shouted(row)
}

// strong reports whether dots, a tab or several blanks stand between a challenge and a response.
func strong(row string) bool {
	_, _, found := split(row, true)
	return found
}

// split parts a challenge from its response. Without that, all of it is the challenge. only asks for dots, tabs and columns, which
// stand in no sentence.
func split(row string, only bool) (challenge, response string, found bool) {
	for i, by := range []*regexp.Regexp{leaderRow, columns, arrow, colon, dash, comma} {
		if only && i >= 2 {
			break
		}
		at := by.FindStringIndex(row)
		if at == nil || at[0] == 0 {
			continue
		}
		challenge, response = row[:at[0]], row[at[1]:]
		if by == leaderRow || response != "" {
			return challenge, response, strings.ContainsFunc(challenge, unicode.IsLetter)
		}
	}
	return row, "", false
}
