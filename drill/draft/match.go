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
	numbers []string   // the numbers in them, as those of an engine
	label   string     // as a candidate is told to the reader
}

// enough is the least likeness of a name for a line to be taken for being about it.
const enough = 0.6

// thingsOf lists all of a profile.
func thingsOf(p *aircraft.Profile) []thing {
	var list []thing
	add := func(k kind, index int, id, label string, names ...string) {
		t := thing{kind: k, index: index, id: id, label: label}
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

// likeOf is how well words and numbers name a thing. A number that it has not tells against it, and one that is another's rules it out.
func (t *thing) likeOf(words, numbers []string) float64 {
	best := 0.0
	for _, name := range t.names {
		best = max(best, overlap(words, name))
	}
	switch {
	case len(numbers) == 0 || len(t.numbers) > 0 && slices.ContainsFunc(t.numbers, func(n string) bool { return slices.Contains(numbers, n) }):
		return best
	case len(t.numbers) > 0:
		return 0
	}
	return 0.8 * best
}

// nearest finds the things of a kind that a text names best. Those that differ in a number alone, as those of two engines, are one
// family; several families are named equally well.
func (m *mapper) nearest(text string, k kind) [][]found {
	words, numbers := meaning(text)
	var list []found
	best := 0.0
	for i := range m.things {
		t := &m.things[i]
		if t.kind != k {
			continue
		}
		if like := t.likeOf(words, numbers); like >= enough {
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
	var list []found
	for i := range m.things {
		t := &m.things[i]
		if like := max(t.likeOf(challenge, numbers), t.likeOf(words, numbers)); like > 0.2 {
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
