package advice

import (
	"slices"
	"strings"

	"hornlark/drill/bench/advice/sound"
	"hornlark/drill/fault"
	"hornlark/drill/procedure"
)

// How alike in sound the words may be in which two challenges differ, from 0 to 1. Our own figures: letters that are taken for each other
// over a line, as b, d, p and t, or m and n, have more than 0.8, those that are not have less than 0.5 (see the tests of sound).
const (
	alikeInPhase = 0.8 // one after the other, or in one phase
	alikeInAll   = 0.9 // elsewhere in the procedure
)

// spoken is a challenge as it is spoken.
type spoken struct {
	*procedure.Item
	phase int
	path  string
	words []string
}

// alike notes challenges that sound like one before, each once, by the one that it is most like. One that is the same, word for word, may
// stand in several phases: what may change is asked anew (guideline 7 of Degani and Wiener).
func alike(l *List, p *procedure.Procedure, speak func(string) string) {
	if speak == nil {
		speak = func(text string) string { return text }
	}
	ear := sound.NewEar()
	var before []spoken
	for i := range p.Phases {
		for k := range p.Phases[i].Items {
			it := &p.Phases[i].Items[k]
			now := spoken{it, i, fault.Join(fault.Join(fault.At("phases", i), fault.At("items", k)), "challenge"), wordsOf(speak(it.Challenge))}
			var most float64
			var like *spoken
			for b := range before {
				other := &before[b]
				close := other.phase == i || b == len(before)-1
				if by := likeness(ear, now.words, other.words); by > most && (by > alikeInAll || close && by > alikeInPhase) && (by < 1 || close && other.phase == i || !slices.Equal(now.words, other.words)) {
					most, like = by, other
				}
			}
			if like != nil {
				note(l, &now, like, p)
			}
			before = append(before, now)
		}
	}
}

func note(l *List, now, like *spoken, p *procedure.Procedure) {
	if slices.Equal(now.words, like.words) {
		l.add(Alike, now.path, "say in each what it is about", "%q is asked twice in a phase, as %s and as %s: nobody can tell which it is", now.Challenge, like.ID, now.ID)
		return
	}
	where := ""
	if like.phase != now.phase {
		where = ` in "` + p.Phases[like.phase].Title + `"`
	}
	l.add(Alike, now.path, "give one of them another word", "%q sounds like %q, the challenge of %s%s", now.Challenge, like.Challenge, like.ID, where)
}

// sameSound is from where on words that are divided otherwise, as shut-off and shutoff, are the same to the ear. Our own figure.
const sameSound = 0.95

// likeness is how alike in sound the words are in which two challenges differ: that of the pair of them that is least alike, since by that
// they are told apart; 1 if they are the same. Where one has words more it is 0, unless only the division is another.
func likeness(ear *sound.Ear, a, b []string) float64 {
	a, b = differing(a, b)
	switch {
	case len(a) == 0 && len(b) == 0:
		return 1
	case len(a) == 0 || len(b) == 0:
		return 0
	}
	if len(a) != len(b) {
		x, y := strings.Join(a, " "), strings.Join(b, " ")
		if d := ear.Sounds(x) - ear.Sounds(y); d < -1 || d > 1 {
			return 0
		}
		if whole := ear.Likeness(x, y); whole >= sameSound {
			return whole
		}
		return 0
	}
	least := 1.0
	for i := range a {
		if least = min(least, ear.Likeness(a[i], b[i])); least < alikeInPhase {
			break // they are told apart
		}
	}
	return least
}

// differing takes away what two rows of words have in common, in order: the longest that they do.
func differing(a, b []string) (restA, restB []string) {
	length := make([][]int, len(a)+1)
	for i := range length {
		length[i] = make([]int, len(b)+1)
	}
	for i := len(a) - 1; i >= 0; i-- {
		for j := len(b) - 1; j >= 0; j-- {
			if length[i][j] = max(length[i+1][j], length[i][j+1]); a[i] == b[j] {
				length[i][j] = length[i+1][j+1] + 1
			}
		}
	}
	i, j := 0, 0
	for i < len(a) && j < len(b) {
		switch {
		case a[i] == b[j]:
			i, j = i+1, j+1
		case length[i+1][j] >= length[i][j+1]:
			restA, i = append(restA, a[i]), i+1
		default:
			restB, j = append(restB, b[j]), j+1
		}
	}
	return append(restA, a[i:]...), append(restB, b[j:]...)
}
