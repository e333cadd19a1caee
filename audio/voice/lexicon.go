package voice

import (
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"hornlark/audio/form"
	"hornlark/sounds"
)

const (
	maxLexiconBytes = 1 << 20
	maxTextRunes    = 500 // of a phrase; more is cut off
)

// Lexicon turns what is written into what is spoken.
type Lexicon struct {
	file  lexiconFile
	loose map[string]string // words that are found however they are written, in small letters
	units []string          // longest first
}

// lexiconFile is the form of sounds/lexicon.yaml and of an instructor's own file. What a field is for stands in its tag "for", for LexiconForm.
type lexiconFile struct {
	Digits   []string             `yaml:"digits" for:"the ten digits as they are spoken, from zero to nine"`
	Point    string               `yaml:"point" for:"what is spoken for the point of a figure"`
	Minus    string               `yaml:"minus" for:"what is spoken before a figure below zero"`
	To       string               `yaml:"to" for:"what is spoken between two figures, as in 70-75"`
	Words    map[string]string    `yaml:"words" for:"words, and how each is spoken; one with a small letter in it is found however it is written, one in capitals only as it stands"`
	Phrases  map[string]string    `yaml:"phrases" for:"whole phrases, written just so, and how each is spoken"`
	Units    map[string][2]string `yaml:"units" for:"units, and how each is spoken after one and after any other figure"`
	Hundreds []string             `yaml:"hundreds" for:"units before which whole hundreds and thousands are spoken as such"`
}

// digitsWanted is how many digits there are to be spoken.
const digitsWanted = 10

// LexiconField is a field that a lexicon may have.
type LexiconField struct {
	Name  string
	About string       // what it is for, without a capital and a full stop
	Type  reflect.Type // of what it takes
	Size  int          // how many it has to have, if it has any; 0: as many as one likes
}

// LexiconForm is the fields that a lexicon may have, in their order, by what reads one. None of them is needed.
func LexiconForm() (fields []LexiconField) {
	for f := range reflect.TypeFor[lexiconFile]().Fields() {
		field := LexiconField{Name: f.Tag.Get("yaml"), About: f.Tag.Get("for"), Type: f.Type}
		if field.Name == "digits" {
			field.Size = digitsWanted
		}
		fields = append(fields, field)
	}
	return fields
}

// LoadLexicon reads the built-in lexicon from files, and lays the files at paths over it, one after the other. An empty path is none.
func LoadLexicon(files fs.FS, paths ...string) (*Lexicon, error) {
	data, err := fs.ReadFile(files, sounds.Lexicon)
	if err != nil {
		return nil, fmt.Errorf("lexicon: %w", err)
	}
	var file lexiconFile
	if err := file.read(data, sounds.Lexicon); err != nil {
		return nil, err
	}
	for _, path := range paths {
		if path == "" {
			continue
		}
		data, err := readBounded(path, maxLexiconBytes)
		if err != nil {
			return nil, fmt.Errorf("lexicon: %w", err)
		}
		if err := file.read(data, path); err != nil {
			return nil, err
		}
	}
	return newLexicon(file), nil
}

func readBounded(path string, most int64) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, most+1))
	if err == nil && int64(len(data)) > most {
		err = fmt.Errorf("%s is larger than %d bytes; shorten it", path, most)
	}
	return data, err
}

// CheckLexicon says what is wrong with the text of a lexicon of one's own. name is what it is called.
func CheckLexicon(data []byte, name string) error {
	if len(data) > maxLexiconBytes {
		return fmt.Errorf("%s is larger than %d bytes; shorten it", name, maxLexiconBytes)
	}
	return new(lexiconFile).read(data, name)
}

// read lays data over what is in the file already.
func (f *lexiconFile) read(data []byte, name string) error {
	var over lexiconFile
	if err := form.Decode(data, &over); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	if over.Digits != nil {
		if len(over.Digits) != digitsWanted {
			return fmt.Errorf("%s: digits: there are %d; write ten, from zero to nine", name, len(over.Digits))
		}
		f.Digits = over.Digits
	}
	for at, word := range map[*string]string{&f.Point: over.Point, &f.Minus: over.Minus, &f.To: over.To} {
		if word != "" {
			*at = word
		}
	}
	f.Words = overlay(f.Words, over.Words)
	f.Phrases = overlay(f.Phrases, over.Phrases)
	f.Units = overlay(f.Units, over.Units)
	if over.Hundreds != nil {
		f.Hundreds = over.Hundreds
	}
	return nil
}

func overlay[V any](under, over map[string]V) map[string]V {
	if under == nil {
		under = map[string]V{}
	}
	maps.Copy(under, over)
	return under
}

func newLexicon(file lexiconFile) *Lexicon {
	l := &Lexicon{file: file, loose: map[string]string{}}
	for _, word := range slices.Sorted(maps.Keys(file.Words)) {
		if strings.ContainsFunc(word, unicode.IsLower) {
			l.loose[strings.ToLower(word)] = file.Words[word]
		}
	}
	l.units = slices.SortedFunc(maps.Keys(file.Units), func(a, b string) int {
		if d := len(b) - len(a); d != 0 {
			return d
		}
		return strings.Compare(a, b)
	})
	return l
}

// token is a number with its sign and decimals, a word, or any other single character.
var token = regexp.MustCompile(`\d+(?:[.:]\d+)*|\pL[\pL\d']*|[^\pL\d\s]|\s+`)

// Speak gives the spoken form of text: words and pauses only, no figures and no abbreviations.
func (l *Lexicon) Speak(text string) string {
	if say, ok := l.file.Phrases[strings.TrimSpace(text)]; ok {
		return say
	}
	tokens := token.FindAllString(cutRunes(text, maxTextRunes), -1)
	var out spoken
	for i := 0; i < len(tokens); i++ {
		switch t := tokens[i]; {
		case unicode.IsSpace(first(t)):
		case isDigit(t):
			i += l.number(&out, tokens, i)
		case unicode.IsLetter(first(t)):
			out.add(l.wordAt(tokens, i))
		default:
			l.sign(&out, tokens, i)
		}
	}
	return out.String()
}

func cutRunes(s string, most int) string {
	n := 0
	for i := range s {
		if n++; n > most {
			return s[:i]
		}
	}
	return s
}

func first(s string) rune {
	r, _ := utf8.DecodeRuneInString(s)
	return r
}

func isDigit(s string) bool { return s[0] >= '0' && s[0] <= '9' }

// number speaks the number at tokens[i] and the unit after it, and says how many more tokens than the one it took.
func (l *Lexicon) number(out *spoken, tokens []string, i int) int {
	n := tokens[i]
	unit, taken := l.unitAfter(tokens[i+1:])
	if i > 0 && tokens[i-1] == "-" && (i == 1 || !isDigit(tokens[i-2]) && !unicode.IsLetter(first(tokens[i-2]))) {
		out.add(l.file.Minus)
	}
	if slices.Contains(l.file.Hundreds, unit) {
		out.add(l.hundreds(n))
	} else {
		out.add(l.digits(n))
	}
	if unit != "" {
		forms := l.file.Units[unit]
		if n == "1" {
			out.add(forms[0])
		} else {
			out.add(forms[1])
		}
	}
	return taken
}

// unitAfter finds the unit that tokens begin with, after a space or without one.
func (l *Lexicon) unitAfter(tokens []string) (unit string, taken int) {
	skip := 0
	if len(tokens) > 0 && unicode.IsSpace(first(tokens[0])) {
		skip = 1
	}
	for _, u := range l.units {
		parts := token.FindAllString(u, -1)
		if end := skip + len(parts); end <= len(tokens) && slices.Equal(tokens[skip:end], parts) {
			return u, end
		}
	}
	return "", 0
}

func (l *Lexicon) digits(n string) string {
	words := make([]string, 0, len(n))
	for _, c := range n {
		switch c {
		case '.':
			words = append(words, l.file.Point)
		case ':':
		default:
			words = append(words, l.file.Digits[c-'0'])
		}
	}
	return strings.Join(words, " ")
}

// hundreds speaks whole hundreds and thousands of up to five figures as such, and anything else digit by digit.
func (l *Lexicon) hundreds(n string) string {
	if len(n) > 5 || !strings.HasSuffix(n, "00") || strings.ContainsAny(n, ".:") {
		return l.digits(n)
	}
	if len(n) < 3 || n[0] == '0' { // no whole hundreds, and figures that somebody reads out as they stand
		return l.digits(n)
	}
	var words []string
	if thousands := n[:len(n)-3]; thousands != "" {
		words = append(words, l.digits(thousands), "thousand")
	}
	if h := n[len(n)-3]; h != '0' {
		words = append(words, l.digits(string(h)), "hundred")
	}
	return strings.Join(words, " ")
}

// wordAt speaks the word at tokens[i]. A single capital beside another, as in "R P M", is a letter and no abbreviation.
func (l *Lexicon) wordAt(tokens []string, i int) string {
	if single(tokens, i) && (single(tokens, i-2) || single(tokens, i+2)) {
		return tokens[i]
	}
	return l.word(tokens[i])
}

// single reports whether tokens[i] is one capital letter by itself.
func single(tokens []string, i int) bool {
	return i >= 0 && i < len(tokens) && utf8.RuneCountInString(tokens[i]) == 1 && unicode.IsUpper(first(tokens[i]))
}

// word speaks a word: as the lexicon has it; a designation such as A2 or XPDR letter by letter; anything else as it is.
func (l *Lexicon) word(w string) string {
	if say, ok := l.file.Words[w]; ok {
		return say
	}
	if say, ok := l.loose[strings.ToLower(w)]; ok {
		return say
	}
	capitals := w == strings.ToUpper(w)
	switch {
	case strings.ContainsFunc(w, unicode.IsDigit), capitals && len(w) > 1 && !strings.ContainsAny(w, "AEIOUY"):
		return l.spell(w)
	case capitals && len(w) > 1:
		return strings.ToLower(w)
	}
	return w
}

func (l *Lexicon) spell(w string) string {
	var parts []string
	for _, c := range w {
		if c >= '0' && c <= '9' {
			parts = append(parts, l.file.Digits[c-'0'])
		} else {
			parts = append(parts, strings.ToUpper(string(c)))
		}
	}
	return strings.Join(parts, " ")
}

// sign speaks the character at tokens[i]: as a pause, as a word, or not at all.
func (l *Lexicon) sign(out *spoken, tokens []string, i int) {
	switch t := tokens[i]; t {
	case ",", ".", "?", "!":
		out.pause(t)
	case ";", ":", "–", "—", "(", ")":
		between := i > 0 && i+1 < len(tokens) && isDigit(tokens[i-1]) && isDigit(tokens[i+1])
		if t == "–" && between {
			out.add(l.file.To)
		} else {
			out.pause(",")
		}
	case "-":
		if i > 0 && i+1 < len(tokens) && isDigit(tokens[i-1]) && isDigit(tokens[i+1]) {
			out.add(l.file.To)
		}
	default:
		if forms, ok := l.file.Units[t]; ok {
			out.add(forms[1])
		} else if t == "&" {
			out.add("and")
		} else if t == "+" {
			out.add("plus")
		}
	}
}

// spoken collects words and pauses.
type spoken struct{ strings.Builder }

func (s *spoken) add(words string) {
	if words == "" {
		return
	}
	if s.Len() > 0 {
		s.WriteByte(' ')
	}
	s.WriteString(words)
}

// pause ends the words so far with a mark; a second mark after it is dropped.
func (s *spoken) pause(mark string) {
	if text := s.String(); text != "" && !strings.HasSuffix(text, ",") && !strings.HasSuffix(text, mark) {
		s.WriteString(mark)
	}
}
