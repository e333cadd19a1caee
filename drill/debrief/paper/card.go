package paper

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"hornlark/drill/aircraft"
	"hornlark/drill/condition"
	"hornlark/drill/procedure"
)

// Card is a procedure for the knee.
type Card struct {
	Sheet
	Procedure *procedure.Procedure
	Profile   *aircraft.Profile // compiled; the one that the procedure belongs to
}

// cardBody is a card made ready for its template.
type cardBody struct {
	Title, About, Aircraft string
	Phases                 []cardPhase
	Callouts               []string
	Limits                 []limit
	Inspections            []string
	Marks                  []mark // that occur
}

type cardPhase struct {
	No    int
	Title string
	Items []cardItem
}

type cardItem struct {
	No                  int
	Challenge, Response string
	Kind                string // what is done, where it is not a move
	Hold                bool
	Notes               []note
}

// note is a line below a challenge: what kind it is, and what it says.
type note struct {
	Tag  string
	Full bool // white on black
	Text string
}

// mark is what a tag means.
type mark struct{ Tag, Means string }

// The tags of notes.
const (
	tagHold    = "HOLD"
	tagIf      = "IF"
	tagAny     = "ANY ORDER"
	tagCall    = "CALL"
	tagRead    = "READ"
	tagWait    = "WAIT"
	tagSounds  = "SOUNDS"
	tagIfNot   = "IF NOT"
	tagWithout = "NOT FITTED"
)

var marks = []mark{
	{tagHold, "has to be right before the item named is reached"},
	{tagIf, "is done only if this is so"},
	{tagAny, "with the neighbours of the same letter"},
	{tagCall, "said as the value is passed"},
	{tagRead, "the reading is said"},
	{tagWait, "before it is asked"},
	{tagSounds, "is heard here, and means nothing wrong"},
	{tagIfNot, "the crew's words and what is done, if it is rightly refused"},
	{tagWithout, "this aircraft does not have it"},
}

// Write writes the card. It is the same for the same documents. Errors are those of the writer.
func (c *Card) Write(w io.Writer) error {
	f := frame{Sheet: c.Sheet, Title: c.Procedure.Title, Of: c.Procedure.Title + " (" + c.Procedure.Name + ")", Body: c.body()}
	return f.write(w, cardPage)
}

func (c *Card) body() *cardBody {
	w := newWords(c.Profile)
	b := &cardBody{Title: c.Procedure.Title, About: c.Procedure.About, Aircraft: c.Profile.Title}
	challenges := map[string]string{}
	c.Procedure.Each(func(_ *procedure.Phase, it *procedure.Item) {
		challenges[it.ID] = fmt.Sprintf("%d “%s”", len(challenges)+1, it.Challenge) // several may have the same words
	})
	letters := map[string]string{}
	no, tags := 0, map[string]bool{}
	for i, ph := range c.Procedure.Phases {
		phase := cardPhase{No: i + 1, Title: ph.Title}
		for j := range ph.Items {
			no++
			it := &ph.Items[j]
			item := cardItem{No: no, Challenge: it.Challenge, Response: it.Response, Kind: kindWord(it.Kind()), Hold: it.Hold != ""}
			item.Notes = w.notes(it, challenges, letters)
			for _, n := range item.Notes {
				tags[n.Tag] = true
			}
			if it.Callout != nil && (it.Fitted == nil || *it.Fitted) {
				b.Callouts = append(b.Callouts, fmt.Sprintf("%d: %s", no, w.passing(it.Callout)))
			}
			phase.Items = append(phase.Items, item)
		}
		b.Phases = append(b.Phases, phase)
	}
	for _, m := range marks {
		if tags[m.Tag] {
			b.Marks = append(b.Marks, m)
		}
	}
	used := gaugesOf(c.Procedure, c.Profile)
	for i := range c.Profile.Gauges {
		if l, any := limitOf(&c.Profile.Gauges[i]); any && used[i] {
			b.Limits = append(b.Limits, l)
		}
	}
	for _, in := range c.Profile.Inspections {
		if readsAny(c.Profile, in.When, used) {
			b.Inspections = append(b.Inspections, in.Text)
		}
	}
	return b
}

// kindWord says what is done, where it is not a move of a hand.
func kindWord(k procedure.Kind) string {
	switch k {
	case procedure.Check:
		return "look"
	case procedure.Confirm:
		return "confirm"
	case procedure.Read, procedure.Figure:
		return "read"
	case procedure.Callout:
		return "call"
	}
	return ""
}

// passing is a value that is called.
func (w *words) passing(p *procedure.Passing) string {
	way := "rising"
	if p.Down {
		way = "falling"
	}
	return fmt.Sprintf("%s %s, %s", w.gauge(p.Gauge), w.value(p.Gauge, p.Value), way)
}

// notes are the lines below a challenge. letters are those of the groups that there have been.
func (w *words) notes(it *procedure.Item, challenges, letters map[string]string) []note {
	var list []note
	add := func(tag, format string, args ...any) {
		list = append(list, note{tag, tag == tagHold || tag == tagWithout, fmt.Sprintf(format, args...)})
	}
	if it.Fitted != nil && !*it.Fitted {
		add(tagWithout, "")
		return list
	}
	if it.Hold != "" {
		add(tagHold, "before %s", challenges[it.Hold])
	}
	if it.When != "" {
		add(tagIf, "%s", w.condition(it.When))
	}
	if it.After != "" {
		text := "until " + w.condition(it.After)
		if it.Wait > 0 {
			text += ", " + long(it.Wait) + " at the most"
		}
		add(tagWait, "%s", text)
	}
	if it.Group != "" {
		if letters[it.Group] == "" {
			letters[it.Group] = letter(len(letters))
		}
		add(tagAny, "%s", letters[it.Group])
	}
	switch {
	case it.Callout != nil:
		add(tagCall, "as it passes: %s", w.passing(it.Callout))
	case it.Read != "":
		add(tagRead, "%s", w.gauge(it.Read))
	}
	if len(it.Expect) > 0 {
		var heard []string
		for _, id := range it.Expect {
			heard = append(heard, w.cue(id))
		}
		add(tagSounds, "%s", strings.Join(heard, ", "))
	}
	if it.IfNot != nil {
		text := it.IfNot.Say
		if len(it.IfNot.Set) > 0 {
			text += " " + w.moves(it.IfNot.Set) + "."
		}
		if it.IfNot.Stop {
			text += " The flow ends here."
		}
		add(tagIfNot, "%s", text)
	}
	return list
}

// letter is the name of a group on a card: a to z, then aa and so on.
func letter(i int) string {
	name := string(rune('a' + i%26))
	for i = i / 26; i > 0; i = i / 26 {
		i--
		name = string(rune('a'+i%26)) + name
	}
	return name
}

// gaugesOf is the gauges that a procedure has anything to do with: those that are looked at, read or called, and those that its
// conditions go by.
func gaugesOf(proc *procedure.Procedure, prof *aircraft.Profile) []bool {
	used := make([]bool, len(prof.Gauges))
	mark := func(id string) {
		if i, ok := prof.GaugeIndex(id); ok {
			used[i] = true
		}
	}
	proc.Each(func(_ *procedure.Phase, it *procedure.Item) {
		for _, id := range it.Look {
			mark(id)
		}
		mark(it.Read)
		if it.Callout != nil {
			mark(it.Callout.Gauge)
		}
		for _, src := range []string{it.Check, it.Confirm, it.When, it.After} {
			for i, reads := range reads(prof, src) {
				used[i] = used[i] || reads
			}
		}
	})
	return used
}

// reads says of each gauge whether a condition goes by it.
func reads(prof *aircraft.Profile, src string) []bool {
	list := make([]bool, len(prof.Gauges))
	if src == "" {
		return list
	}
	if c, err := condition.Compile(src, prof.Scope()); err == nil {
		for i := range list {
			list[i] = c.Reads(prof.GaugeSlot(i))
		}
	}
	return list
}

func readsAny(prof *aircraft.Profile, src string, gauges []bool) bool {
	for i, reads := range reads(prof, src) {
		if reads && gauges[i] {
			return true
		}
	}
	return false
}

// Gauges names the gauges that a card gives limits of, in the order of the profile.
func (c *Card) Gauges() []string {
	var ids []string
	for i, used := range gaugesOf(c.Procedure, c.Profile) {
		if used {
			ids = append(ids, c.Profile.Gauges[i].ID)
		}
	}
	return slices.Clip(ids)
}
