package drill

import "hornlark/drill/scenario"

// FirstWords is how long after its beginning a sitting asks for its first words: the breath that there is between any two utterances.
const FirstWords = breath

// Utterance is words, and who says them.
type Utterance struct {
	Voice Voice
	Text  string
}

// itemsAhead is how many items MaySay looks at, the one whose turn it is among them. Items that do not apply are passed over by the
// flow without a word, and a group can be answered in any order.
const itemsAhead = 6

// MaySay gives what may be said next, the soonest first, so that whoever has to make clips of it can do so before it is
// asked for. It is a hint: what is said may be missing, and most of what it names is never said.
func (s *Sitting) MaySay() []Utterance {
	var list []Utterance
	add := func(v Voice, text string) {
		if text != "" {
			list = append(list, Utterance{v, text})
		}
	}
	f := &s.flow
	from := max(f.turn, f.first)
	items := f.items[min(from, len(f.items)):min(from+itemsAhead, len(f.items))]
	item := func(it *item) {
		if s.policy.Asks != "" {
			add(Challenger, it.Challenge)
		}
		if s.policy.Echoed {
			add(Responder, it.Response)
		}
		if it.IfNot != nil {
			add(Crew, it.IfNot.Say)
		}
	}
	if len(items) > 0 {
		item(items[0])
		if from+1 < len(f.items) && s.policy.Asks != "" {
			add(Challenger, f.items[from+1].Challenge)
		}
	}
	for _, g := range s.gates {
		if g.before < from || g.before >= from+itemsAhead || f.gated[g.before] {
			continue
		}
		for _, k := range g.held {
			if !s.stands(k, g.before) {
				add(Crew, f.items[k].Takeover())
			}
		}
	}
	t := &s.injections
	if in := t.active; in != nil {
		if s.Exercise.tell.Tells {
			add(Crew, in.Telling())
		}
		add(Crew, in.Closing())
		add(Crew, in.Takeover())
	}
	if s.policy.Flow == scenario.Nothing && t.more() {
		add(Crew, scenario.ControlsReset)
	}
	for _, in := range t.list {
		if in.how == waiting || in.how == due {
			add(Crew, in.Call)
		}
	}
	if t.left > 0 {
		for _, ab := range t.drawn {
			add(Crew, ab.Call)
		}
	}
	for i, it := range items {
		if i > 0 {
			item(it)
		}
	}
	return list
}
