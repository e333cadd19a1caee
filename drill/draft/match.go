package draft

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"hornlark/drill/aircraft"
)

// kind is what a thing of the profile is.
type kind int

const (
	control kind = iota
	gauge
	caption
	fact
)

// thing is something of a profile that a line of a checklist can be about.
type thing struct {
	kind    kind
	index   int
	id      string
	names   [][]string // the words of each of its names
	places  [][]int    // the same words, by their places in the vocabulary of the mapper
	own     []string   // the words of its id
	numbers []string   // the numbers in them, as those of an engine
	label   string     // as a candidate is told to the reader
}

// What is remembered while a checklist is mapped.
const (
	mostLiked = 100  // texts, and what they name: those of a line are few
	mostRows  = 2000 // words, and what they are like
)

// enough is the least likeness of a name for a line to be taken for being about it.
const enough = 0.6

// newMapper makes ready what lines are mapped against.
func newMapper(p *aircraft.Profile) *mapper {
	m := &mapper{prof: p, things: thingsOf(p), rows: map[string][]float64{}, liked: map[string][]float64{}}
	at := map[string]int{}
	for i := range m.things {
		t := &m.things[i]
		for _, name := range t.names {
			places := make([]int, len(name))
			for k, w := range name {
				if _, known := at[w]; !known {
					at[w] = len(m.vocabulary)
					m.vocabulary = append(m.vocabulary, w)
				}
				places[k] = at[w]
			}
			t.places = append(t.places, places)
		}
	}
	return m
}

// rowsOf is how alike words are to each of the vocabulary, a row for each of them. Words come again from line to line.
func (m *mapper) rowsOf(words []string) [][]float64 {
	rows := make([][]float64, len(words))
	for i, w := range words {
		row, known := m.rows[w]
		if !known {
			row = make([]float64, len(m.vocabulary))
			for k, other := range m.vocabulary {
				row[k] = likeness(w, other)
			}
			if len(m.rows) < mostRows {
				m.rows[w] = row
			}
		}
		rows[i] = row
	}
	return rows
}

// thingsOf lists all of a profile.
func thingsOf(p *aircraft.Profile) []thing {
	var list []thing
	add := func(k kind, index int, id, label string, names ...string) {
		t := thing{kind: k, index: index, id: id, label: label}
		t.own, _ = meaning(strings.ReplaceAll(id, "_", " "))
		for i, name := range append(names, strings.ReplaceAll(id, "_", " ")) {
			words, numbers := meaning(name)
			if i == 0 {
				t.numbers = numbers
			}
			if len(words) > 0 && !slices.ContainsFunc(t.names, func(n []string) bool { return slices.Equal(n, words) }) {
				t.names = append(t.names, words)
			}
		}
		list = append(list, t)
	}
	for i := range p.Controls {
		c := &p.Controls[i]
		add(control, i, c.ID, fmt.Sprintf("control %s (%s: %s)", c.ID, c.Name, positionsOf(c)), c.Name)
	}
	for i := range p.Gauges {
		g := &p.Gauges[i]
		add(gauge, i, g.ID, fmt.Sprintf("gauge %s (%s)", g.ID, cmp.Or(g.Spoken, g.Name)), g.Name, g.Spoken)
	}
	for i := range p.Captions {
		c := &p.Captions[i]
		add(caption, i, c.ID, fmt.Sprintf("caption %s (%s)", c.ID, c.Text), c.Text)
	}
	for i := range p.Outside {
		f := &p.Outside[i]
		add(fact, i, f.ID, fmt.Sprintf("outside %s (%s)", f.ID, f.True), f.True)
	}
	return list
}

// positionsOf is the positions of a control, in words.
func positionsOf(c *aircraft.Control) string {
	if t := c.Travel; t != nil {
		return strings.TrimSpace(fmt.Sprintf("%g to %g %s", t.From, t.To, t.Unit))
	}
	return strings.Join(c.Positions, ", ")
}

// found is a thing and how well a text names it, from 0 to 1.
type found struct {
	*thing
	like float64
}

// likeOf is how well words, by their rows, and numbers name a thing. A number that it has not tells against it, and one that is another's rules
// it out.
func (t *thing) likeOf(rows [][]float64, numbers []string) float64 {
	best := 0.0
	for _, name := range t.places {
		best = max(best, overlapOf(rows, name))
	}
	switch {
	case len(numbers) == 0 || len(t.numbers) > 0 && slices.ContainsFunc(t.numbers, func(n string) bool { return slices.Contains(numbers, n) }):
		return best
	case len(t.numbers) > 0:
		return 0
	}
	return 0.8 * best
}

// likes is how well a text names each of the things. It is asked for again and again as a line is tried for one kind of thing and the other.
func (m *mapper) likes(text string) []float64 {
	if known, ok := m.liked[text]; ok {
		return known
	}
	words, numbers := meaning(text)
	rows := m.rowsOf(words)
	likes := make([]float64, len(m.things))
	for i := range m.things {
		likes[i] = m.things[i].likeOf(rows, numbers)
	}
	if len(m.liked) >= mostLiked {
		clear(m.liked)
	}
	m.liked[text] = likes
	return likes
}

// nearest finds the things of a kind that a text names best. Those that differ in a number alone, as those of two engines, are one
// family; several families are named equally well.
func (m *mapper) nearest(text string, k kind) [][]found {
	var list []found
	best := 0.0
	likes := m.likes(text)
	for i := range m.things {
		t := &m.things[i]
		if t.kind != k {
			continue
		}
		if like := likes[i]; like >= enough {
			list = append(list, found{t, like})
			best = max(best, like)
		}
	}
	var families [][]found
next:
	for _, f := range list {
		if f.like < best-1e-9 {
			continue
		}
		for i, family := range families {
			if len(f.numbers) > 0 && slices.Equal(f.names[0], family[0].names[0]) {
				families[i] = append(family, f)
				continue next
			}
		}
		families = append(families, []found{f})
	}
	return families
}

// only is nearest where nothing else than one family may be meant.
func (m *mapper) only(text string, k kind) []found {
	if families := m.nearest(text, k); len(families) == 1 {
		return families[0]
	}
	return nil
}

// candidates are the labels of what comes nearest to a line, at most three, the nearest first.
func (m *mapper) candidates(line *Line) []string {
	words, numbers := meaning(line.Challenge + " " + line.Response)
	words = without(words, []string{"on", "off", "out", "in", "open", "closed"}) // which stand in the names of captions
	challenge, _ := meaning(line.Challenge)
	rows, ofChallenge := m.rowsOf(words), m.rowsOf(challenge)
	var list []found
	for i := range m.things {
		t := &m.things[i]
		if like := max(t.likeOf(ofChallenge, numbers), t.likeOf(rows, numbers)); like > 0.2 {
			list = append(list, found{t, like})
		}
	}
	slices.SortStableFunc(list, func(a, b found) int { return cmp.Compare(b.like, a.like) })
	var labels []string
	for _, f := range list[:min(3, len(list))] {
		labels = append(labels, f.label)
	}
	return labels
}
