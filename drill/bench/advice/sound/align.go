// Package sound says how alike spoken words are.
//
// Words become segments of sound by rules for English spelling (spelling.go), segments are compared feature by feature, and rows of segments
// by the best alignment of parts of them: ALINE, Kondrak 2000, "A new algorithm for the alignment of phonetic sequences", and 2002,
// "Algorithms for language reconstruction", pages 51 to 60. The figures are those by which a published port of it (NLTK, metrics/aline)
// gives the author's alignments: where they depart from 2002, that says so.
package sound

import "math"

// The scores of Kondrak 2002, page 54; the weight of vowels is 5 and not 10 in the port.
const (
	skip      = -10.0
	substance = 35.0
	expansion = 45.0
	vowel     = 5.0
)

// The weights of features, Kondrak 2002, page 55; in the port voice has 5 and not 10, nasal 20 and not 10, height 3 and not 5, backness
// and rounding 2 and not 5. Length has none in the port and is left out.
const (
	ofSyllabic, ofPlace, ofManner, ofVoice, ofNasal   = 5.0, 40.0, 50.0, 5.0, 20.0
	ofRetroflex, ofLateral, ofHeight, ofBack, ofRound = 10.0, 10.0, 3.0, 2.0, 2.0
)

// Places and manners of articulation as figures, Kondrak 2002, page 56. Vowels have a place and a manner of their own in the port.
const (
	bilabial, labiodental, dental, alveolar, retroflex = 1.0, 0.95, 0.9, 0.85, 0.8
	postalveolar, palatal, velar, uvular, glottal      = 0.75, 0.7, 0.6, 0.5, 0.1
	labiovelar, noPlace                                = 1.0, -1.0

	stop, fricative, trill, tap, approximant, open = 1.0, 0.85, 0.7, 0.65, 0.6, 0.5
)

// segment is one sound. Heights are 1 high, 0.5 mid and 0 low; backness is 1 front, 0.5 central and 0 back.
type segment struct {
	place, manner, height, back                        float64
	syllabic, voiced, nasal, retroflex, lateral, round bool
}

func consonant(place, manner float64, voiced bool) segment {
	return segment{place: place, manner: manner, voiced: voiced}
}

func vowelAt(height, back float64, round bool) segment {
	return segment{place: noPlace, manner: open, height: height, back: back, syllabic: true, voiced: true, round: round}
}

func with(s segment, change func(*segment)) segment {
	change(&s)
	return s
}

var (
	asNasal     = func(s *segment) { s.nasal = true }
	asLateral   = func(s *segment) { s.lateral = true }
	asRetroflex = func(s *segment) { s.retroflex = true }
)

// segments are the sounds, by their letters in the International Phonetic Alphabet. An English r is the approximant ɹ.
var segments = map[rune]segment{
	'p': consonant(bilabial, stop, false), 'b': consonant(bilabial, stop, true), 't': consonant(alveolar, stop, false), 'd': consonant(alveolar, stop, true),
	'k': consonant(velar, stop, false), 'g': consonant(velar, stop, true), 'q': consonant(uvular, stop, false), 'ʔ': consonant(glottal, stop, false),
	'm': with(consonant(bilabial, stop, true), asNasal), 'n': with(consonant(alveolar, stop, true), asNasal), 'ŋ': with(consonant(velar, stop, true), asNasal),
	'f': consonant(labiodental, fricative, false), 'v': consonant(labiodental, fricative, true), 'θ': consonant(dental, fricative, false), 'ð': consonant(dental, fricative, true),
	's': consonant(alveolar, fricative, false), 'z': consonant(alveolar, fricative, true), 'ʃ': consonant(postalveolar, fricative, false), 'ʒ': consonant(postalveolar, fricative, true),
	'x': consonant(velar, fricative, false), 'h': consonant(glottal, fricative, false),
	'r': with(consonant(alveolar, trill, true), asRetroflex), 'ɾ': consonant(alveolar, tap, true), 'ɹ': consonant(alveolar, approximant, true),
	'j': consonant(palatal, approximant, true), 'w': consonant(labiovelar, approximant, true), 'l': with(consonant(alveolar, approximant, true), asLateral),

	'i': vowelAt(1, 1, false), 'y': vowelAt(1, 1, true), 'e': vowelAt(0.5, 1, false), 'ɛ': vowelAt(0.5, 1, false), 'ø': vowelAt(0.5, 1, true), 'œ': vowelAt(0.5, 1, true),
	'æ': vowelAt(0, 1, false), 'a': vowelAt(0, 1, false), 'ə': vowelAt(0.5, 0.5, false), 'u': vowelAt(1, 0, true), 'o': vowelAt(0.5, 0, true), 'ɔ': vowelAt(0.5, 0, true),
	'ɒ': vowelAt(0, 0, false),
}

// difference is the weighted difference of two segments, delta of Kondrak 2002, page 54: vowels are compared by what makes vowels differ.
func difference(p, q segment) float64 {
	sum := binary(p.syllabic, q.syllabic, ofSyllabic)
	sum += binary(p.nasal, q.nasal, ofNasal)
	sum += binary(p.retroflex, q.retroflex, ofRetroflex)
	if p.syllabic && q.syllabic {
		sum += float64(math.Abs(p.height-q.height) * ofHeight)
		sum += float64(math.Abs(p.back-q.back) * ofBack)
		return sum + binary(p.round, q.round, ofRound)
	}
	sum += float64(math.Abs(p.manner-q.manner) * ofManner)
	sum += float64(math.Abs(p.place-q.place) * ofPlace)
	sum += binary(p.voiced, q.voiced, ofVoice)
	return sum + binary(p.lateral, q.lateral, ofLateral)
}

func binary(p, q bool, weight float64) float64 {
	if p == q {
		return 0
	}
	return weight
}

func weightOf(p segment) float64 {
	if p.syllabic {
		return vowel
	}
	return 0
}

func substitute(p, q segment) float64 {
	return substance - difference(p, q) - weightOf(p) - weightOf(q)
}

// expand is the score of one segment that stands for two.
func expand(p, q, r segment) float64 {
	return expansion - difference(p, q) - difference(p, r) - weightOf(p) - max(weightOf(q), weightOf(r))
}

// score is that of the best alignment of parts of two rows of segments.
func score(a, b []segment) float64 {
	best := 0.0
	table := make([][]float64, len(a)+1)
	for i := range table {
		table[i] = make([]float64, len(b)+1)
	}
	for i := 1; i <= len(a); i++ {
		for j := 1; j <= len(b); j++ {
			s := max(0, table[i-1][j]+skip, table[i][j-1]+skip, table[i-1][j-1]+substitute(a[i-1], b[j-1]))
			if i > 1 {
				s = max(s, table[i-2][j-1]+expand(b[j-1], a[i-2], a[i-1]))
			}
			if j > 1 {
				s = max(s, table[i-1][j-2]+expand(a[i-1], b[j-2], b[j-1]))
			}
			table[i][j] = s
			best = max(best, s)
		}
	}
	return best
}

// likeness is from 0, nothing in common, to 1, the same: the score by that of the one that has the higher one with itself, so that a word
// in a longer one is not the same.
func likeness(a, b []segment) float64 {
	whole := max(score(a, a), score(b, b))
	if whole == 0 {
		return 0
	}
	return score(a, b) / whole
}

// segmentsOf reads a row of letters of the International Phonetic Alphabet. Others are passed over.
func segmentsOf(ipa string) []segment {
	var row []segment
	for _, r := range ipa {
		if s, ok := segments[r]; ok {
			row = append(row, s)
		}
	}
	return row
}

// Likeness is how alike two texts are as they are spoken, from 0, nothing in common, to 1, the same.
func Likeness(a, b string) float64 {
	return likeness(segmentsOf(Pronounce(a)), segmentsOf(Pronounce(b)))
}

// Ear compares many words with each other, and remembers what it has heard. It is for one goroutine.
type Ear struct {
	words map[string][]segment
	pairs map[[2]string]float64
}

// NewEar makes one that has heard nothing.
func NewEar() *Ear { return &Ear{map[string][]segment{}, map[[2]string]float64{}} }

func (e *Ear) word(text string) []segment {
	row, known := e.words[text]
	if !known {
		row = segmentsOf(Pronounce(text))
		e.words[text] = row
	}
	return row
}

// Likeness is that of two words, or rows of words.
func (e *Ear) Likeness(a, b string) float64 {
	if a > b {
		a, b = b, a
	}
	by, known := e.pairs[[2]string{a, b}]
	if !known {
		by = likeness(e.word(a), e.word(b))
		e.pairs[[2]string{a, b}] = by
	}
	return by
}

// Sounds is how many sounds a text has.
func (e *Ear) Sounds(text string) int { return len(e.word(text)) }
