package draft

import (
	"regexp"
	"strings"
)

// sought is an expression that is looked for in every line and is in few of them. What each of its matches has to hold is looked for first, by
// a plain look that costs next to nothing.
type sought struct {
	expression *regexp.Regexp
	needs      []string // in small letters: one of them is in every match, written small or large
	figure     bool     // a digit is in every match
}

// seek makes an expression of which every match holds one of some texts, if there are any.
func seek(expression string, needs ...string) *sought {
	return &sought{expression: regexp.MustCompile(expression), needs: needs}
}

// withFigure says that a digit is in every match.
func (s *sought) withFigure() *sought {
	s.figure = true
	return s
}

// may reports whether there may be a match.
func (s *sought) may(text string) bool {
	if s.figure && !strings.ContainsAny(text, "0123456789") {
		return false
	}
	if len(s.needs) == 0 {
		return true
	}
	for _, need := range s.needs {
		if holds(text, need) {
			return true
		}
	}
	return strings.ContainsAny(text, "\u017f\u212a") // the only other letters that an expression takes for an s and a k
}

// holds reports whether a text holds another one, of small letters, however that is written.
func holds(text, small string) bool {
next:
	for i := 0; i+len(small) <= len(text); i++ {
		for k := range len(small) {
			c := text[i+k]
			if 'A' <= c && c <= 'Z' {
				c += 'a' - 'A'
			}
			if c != small[k] {
				continue next
			}
		}
		return true
	}
	return false
}

// MatchString, FindStringSubmatch, FindStringIndex and ReplaceAllString are those of an expression.
func (s *sought) MatchString(text string) bool { return s.may(text) && s.expression.MatchString(text) }

func (s *sought) FindStringSubmatch(text string) []string {
	if !s.may(text) {
		return nil
	}
	return s.expression.FindStringSubmatch(text)
}

func (s *sought) FindStringIndex(text string) []int {
	if !s.may(text) {
		return nil
	}
	return s.expression.FindStringIndex(text)
}

func (s *sought) ReplaceAllString(text, by string) string {
	if !s.may(text) {
		return text
	}
	return s.expression.ReplaceAllString(text, by)
}
