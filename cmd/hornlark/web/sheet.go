package web

import (
	"encoding/json"

	"hornlark/drill/inert"
)

// Sheet is a page between sittings: something to read, and what can be chosen then.
type Sheet struct {
	Title   string
	Caution string
	Notices []string // what has to be told once
	Sound   string   // what the sound check has found; empty: there is none
	Who     string   // who sits here
	Text    []string // paragraphs
	Lines   []string // lines as they stand, such as a report's
	Offers  []Offer
	Asking  string // the key of the offer whose question stands open; empty: none
	Trouble string // what is wrong with the answer that was given to it
}

// Offer is one thing that can be done next.
type Offer struct {
	Key   string // "enter", or a letter or digit as it is typed on the trainee's own keyboard; others are no keys, and pressed alone
	Text  string
	Ask   *Ask // what is asked first; nil: nothing
	Small bool // it stands beside others
}

// Ask is a question that is answered in a line.
type Ask struct {
	Prompt string   `json:"prompt"`
	Hint   string   `json:"hint"`
	Given  string   `json:"given"` // stands there at first
	Known  []string `json:"known"` // answers that are offered
	Day    bool     `json:"day"`   // it is a day, like 2027-03-12, or nothing
}

// Choice is what has been chosen from a sheet.
type Choice struct {
	Key    string // of the offer
	Answer string // to its question
}

// longestAnswer is how many bytes an answer may have.
const longestAnswer = 800

// sheetShown is a sheet as it stands, with its number.
type sheetShown struct {
	number  int
	sheet   Sheet
	message []byte
}

func (s *sheetShown) greeting() [][]byte { return [][]byte{s.message} }

// Show has the page show a sheet. What is chosen from it comes over Chosen; what was chosen from another before and not taken is forgotten.
func (s *Site) Show(sheet Sheet) {
	s.mu.Lock()
	s.sheet++
	number := s.sheet
	select {
	case <-s.chosen:
	default:
	}
	s.mu.Unlock()
	s.turnTo(&sheetShown{number, sheet, sheet.message(number)})
}

// Chosen gives what is chosen from the sheet that is shown.
func (s *Site) Chosen() <-chan Choice { return s.chosen }

// Heard has the sheet that is shown say what the sound check has found, whatever is being typed on it.
func (s *Site) Heard(sound string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	is, _ := s.now.(*sheetShown)
	if is == nil || is.sheet.Sound == "" {
		return
	}
	is.sheet.Sound = sound
	is.message = is.sheet.message(is.number)
	s.hub.Tell(message("sound", "text", inert.Line(sound)))
}

// choose takes a choice from a sheet, the first one from each. One that comes too late, or is none, is nothing.
func (s *Site) choose(m *heard) {
	s.mu.Lock()
	defer s.mu.Unlock()
	is, _ := s.now.(*sheetShown)
	if is == nil || is.number == 0 || m.N != is.number || len(m.Answer) > longestAnswer {
		return
	}
	for _, o := range is.sheet.Offers {
		if o.Key == m.Key {
			is.number = 0
			select {
			case s.chosen <- Choice{m.Key, m.Answer}:
			default:
			}
			return
		}
	}
}

// message is the sheet as a page is told of it.
func (s *Sheet) message(number int) []byte {
	type offer struct {
		Key   string `json:"key"`
		Text  string `json:"text"`
		Ask   *Ask   `json:"ask"`
		Small bool   `json:"small"`
	}
	m := struct {
		Kind    string   `json:"kind"`
		N       int      `json:"n"`
		Title   string   `json:"title"`
		Caution string   `json:"caution"`
		Notices []string `json:"notices"`
		Sound   string   `json:"sound"`
		Who     string   `json:"who"`
		Text    []string `json:"text"`
		Lines   []string `json:"lines"`
		Offers  []offer  `json:"offers"`
		Asking  string   `json:"asking"`
		Trouble string   `json:"trouble"`
	}{
		Kind: "sheet", N: number, Title: inert.Line(s.Title), Caution: inert.Line(s.Caution), Notices: clean(s.Notices), Sound: inert.Line(s.Sound),
		Who: inert.Line(s.Who), Text: clean(s.Text), Lines: clean(s.Lines), Offers: []offer{}, Asking: s.Asking, Trouble: inert.Line(s.Trouble),
	}
	for _, o := range s.Offers {
		m.Offers = append(m.Offers, offer{o.Key, inert.Line(o.Text), o.Ask, o.Small})
	}
	body, err := json.Marshal(m)
	if err != nil {
		panic(err) // texts, flags and numbers can always be written
	}
	return body
}

// clean are lines in which nothing does anything.
func clean(lines []string) []string {
	out := make([]string, len(lines))
	for i, line := range lines {
		out[i] = inert.Line(line)
	}
	return out
}
