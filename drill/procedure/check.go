package procedure

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/condition"
	"hornlark/drill/fault"
)

// The bounds of a procedure.
const (
	MaxPhases   = 40
	MaxItems    = 400              // in all phases together
	MaxSettings = 16               // controls in one set
	MaxWait     = 10 * time.Minute // for a condition, before an item is asked all the same
	MinWithin   = time.Second      // for an answer
	MaxWithin   = 5 * time.Minute
)

// Check finds everything that is wrong with the procedure as a flow for the profile, which has been compiled.
func (p *Procedure) Check(prof *aircraft.Profile) fault.List {
	c := checker{prof: prof, ids: map[string]string{}}
	c.faults.Name("name", p.Name)
	c.faults.Line("title", "title", p.Title)
	if p.Profile != prof.Name {
		c.faults.Unknown("profile", "profile", p.Profile, []string{prof.Name})
	}
	switch n := p.Count(); {
	case n == 0:
		c.faults.Add("phases", "write at least one phase with an item in it", "the procedure has no items")
	case n > MaxItems:
		c.faults.Add("phases", fmt.Sprintf("stay within %d, or make two of it", MaxItems), "the procedure has %d items", n)
		p = p.first(MaxItems)
	}
	if len(p.Phases) > MaxPhases {
		c.faults.Add("phases", fmt.Sprintf("stay within %d", MaxPhases), "the procedure has %d phases", len(p.Phases))
	}
	for i := range p.Phases {
		c.phase(fault.At("phases", i), &p.Phases[i])
	}
	c.holds(p)
	return c.faults
}

// first is the procedure with its first so many items alone: of what there is too much of, the rest is not looked at.
func (p *Procedure) first(items int) *Procedure {
	short := *p
	short.Phases = nil
	for _, ph := range p.Phases {
		if items == 0 {
			break
		}
		ph.Items = ph.Items[:min(items, len(ph.Items))]
		items -= len(ph.Items)
		short.Phases = append(short.Phases, ph)
	}
	return &short
}

// checker collects the faults of one procedure.
type checker struct {
	prof   *aircraft.Profile
	faults fault.List
	ids    map[string]string // what each id has been given to
}

// id notes what is wrong with an id, which must be the only one of its kind.
func (c *checker) id(path, kind, id string) {
	path = fault.Join(path, "id")
	c.faults.Name(path, id)
	key := kind + " " + id
	if first, taken := c.ids[key]; taken && id != "" {
		c.faults.Add(path, "give each its own", "%s already is the id of %s", id, first)
	}
	c.ids[key] = path
}

func (c *checker) phase(path string, ph *Phase) {
	c.id(path, "phase", ph.ID)
	c.faults.Line(fault.Join(path, "title"), "title", ph.Title)
	if len(ph.Items) == 0 {
		c.faults.Add(path, "write its items, or leave the phase out", "phase %s has no items", ph.ID)
	}
	for i := range ph.Items {
		c.item(fault.Join(path, fault.At("items", i)), &ph.Items[i])
	}
	c.groups(path, ph)
}

// holds notes items that have to be right before one that does not come after them.
func (c *checker) holds(p *Procedure) {
	place := map[string]int{}
	var all []string
	p.Each(func(_ *Phase, it *Item) {
		place[it.ID] = len(all)
		all = append(all, it.ID)
	})
	for i := range p.Phases {
		for k := range p.Phases[i].Items {
			it := &p.Phases[i].Items[k]
			path := fault.Join(fault.Join(fault.At("phases", i), fault.At("items", k)), "hold")
			to, known := place[it.Hold]
			switch {
			case it.Hold == "":
			case !known:
				c.faults.Unknown(path, "item", it.Hold, all)
			case to <= place[it.ID]:
				c.faults.Add(path, "name an item further on", "item %s does not come after %s", it.Hold, it.ID)
			case it.Kind() == Read || it.Kind() == Callout || it.Kind() == Figure:
				c.faults.Add(path, "leave it out", "what is typed or called cannot be held to later")
			}
		}
	}
}

// groups notes members of a group that do not stand side by side, and groups of one.
func (c *checker) groups(path string, ph *Phase) {
	size, last := map[string]int{}, map[string]int{}
	for i := range ph.Items {
		group, at := ph.Items[i].Group, fault.Join(path, fault.At("items", i))+".group"
		if group == "" {
			continue
		}
		if size[group] > 0 && last[group] != i-1 {
			c.faults.Add(at, "move the item up to them, or give it a group of its own",
				"group %s is interrupted by item %s", group, ph.Items[i-1].ID)
		}
		size[group]++
		last[group] = i
	}
	for i := range ph.Items {
		if group := ph.Items[i].Group; size[group] == 1 && group != "" {
			c.faults.Add(fault.Join(path, fault.At("items", i))+".group", "leave it out, or name the neighbours that may be swapped with it",
				"nothing else is in group %s", group)
		}
	}
}

func (c *checker) item(path string, it *Item) {
	at := func(field string) string { return fault.Join(path, field) }
	c.id(path, "item", it.ID)
	c.faults.Line(at("challenge"), "challenge", it.Challenge)
	c.faults.Line(at("response"), "response", it.Response)
	c.kind(path, it)
	c.condition(at("when"), it.When)
	c.condition(at("after"), it.After)
	c.seen(at("look"), it.Look)
	c.alerts(at("expect"), it.Expect)
	c.times(path, it)
	c.ifNot(path, it)
}

func (c *checker) condition(path, src string) {
	condition.Check(&c.faults, path, src, c.prof.Scope())
}

// kind notes whether the item is answered in exactly one way, and what is wrong with that way.
func (c *checker) kind(path string, it *Item) {
	at := func(field string) string { return fault.Join(path, field) }
	var kinds []string
	for _, k := range []struct {
		kind  Kind
		given bool
	}{
		{Set, len(it.Set) > 0}, {Check, it.Check != ""}, {Read, it.Read != ""}, {Callout, it.Callout != nil}, {Confirm, it.Confirm != ""},
		{Figure, it.Figure != nil},
	} {
		if k.given {
			kinds = append(kinds, string(k.kind))
		}
	}
	switch len(kinds) {
	case 0:
		c.faults.Add(path, "give it one of set, check, read, callout, confirm or figure", "item %s does not say how it is answered", it.ID)
	case 1:
	default:
		c.faults.Add(at(kinds[1]), "keep one of them, and make another item of the rest",
			"item %s is answered in %d ways: %s", it.ID, len(kinds), strings.Join(kinds, ", "))
	}
	CheckSettings(&c.faults, at("set"), it.Set, c.prof)
	c.condition(at("check"), it.Check)
	c.condition(at("confirm"), it.Confirm)
	if it.Read != "" {
		c.gauge(at("read"), it.Read)
	}
	if it.Callout != nil {
		c.passing(at("callout"), it.Callout)
	}
	if it.Figure != nil {
		c.figure(at("figure"), it.Figure)
	}
}

func (c *checker) gauge(path, id string) (*aircraft.Gauge, bool) {
	i, ok := c.prof.GaugeIndex(id)
	if !ok {
		c.faults.Unknown(path, "gauge", id, gaugeIDs(c.prof))
		return nil, false
	}
	return &c.prof.Gauges[i], true
}

func (c *checker) passing(path string, p *Passing) {
	g, ok := c.gauge(fault.Join(path, "gauge"), p.Gauge)
	if ok && !(p.Value > g.Min && p.Value < g.Max) {
		c.faults.Add(fault.Join(path, "value"), fmt.Sprintf("write a value between %g and %g %s", g.Min, g.Max, g.Unit),
			"gauge %s cannot pass %g", p.Gauge, p.Value)
	}
	c.between(fault.Join(path, "window"), p.Window, 100*time.Millisecond, 30*time.Second)
}

func (c *checker) figure(path string, v *Value) {
	g, ok := c.gauge(fault.Join(path, "gauge"), v.Gauge)
	if ok && !(v.Value >= g.Min && v.Value <= g.Max) {
		c.faults.Add(fault.Join(path, "value"), fmt.Sprintf("write a value from %g to %g %s", g.Min, g.Max, g.Unit),
			"gauge %s cannot show %g", v.Gauge, v.Value)
	}
}

func (c *checker) seen(path string, ids []string) {
	for i, id := range ids {
		_, control := c.prof.ControlIndex(id)
		_, gauge := c.prof.GaugeIndex(id)
		_, caption := c.prof.CaptionIndex(id)
		switch at := fault.At(path, i); {
		case !control && !gauge && !caption:
			known := append(append(gaugeIDs(c.prof), captionIDs(c.prof)...), controlIDs(c.prof)...)
			c.faults.Unknown(at, "gauge, caption or control", id, known)
		case slices.Index(ids, id) < i:
			c.faults.Add(at, "name it once", "%s is named twice", id)
		}
	}
}

func (c *checker) alerts(path string, ids []string) {
	for i, id := range ids {
		if _, ok := c.prof.AlertIndex(id); !ok {
			c.faults.Unknown(fault.At(path, i), "alert", id, alertIDs(c.prof))
		}
	}
}

func (c *checker) times(path string, it *Item) {
	c.between(fault.Join(path, "within"), it.Within, MinWithin, MaxWithin)
	c.between(fault.Join(path, "wait"), it.Wait, time.Second, MaxWait)
	if it.Wait > 0 && it.After == "" && it.Callout == nil {
		c.faults.Add(fault.Join(path, "wait"), "write the condition to wait for in after, or leave wait out", "there is nothing to wait for")
	}
}

// between notes a time outside of what makes sense; one that was left out is zero.
func (c *checker) between(path string, d, least, most time.Duration) {
	if d != 0 && (d < least || d > most) {
		c.faults.Add(path, fmt.Sprintf("write a time from %v to %v", least, most), "%v is out of range", d)
	}
}

func (c *checker) ifNot(path string, it *Item) {
	if it.IfNot == nil {
		return
	}
	path = fault.Join(path, "if_not")
	if it.Check == "" && it.Confirm == "" {
		c.faults.Add(path, "leave it out", "only a check or a confirm can be refused")
	}
	switch {
	case it.IfNot.Stop && len(it.IfNot.Set) > 0:
		c.faults.Add(path, "keep set or stop", "the flow cannot both end here and be put right")
	case it.IfNot.Say == "" && len(it.IfNot.Set) == 0 && !it.IfNot.Stop:
		c.faults.Add(path, "write what is said in say, what is done in set, both, or stop: true", "it does not say how the matter is put right")
	}
	c.faults.OptionalLine(fault.Join(path, "say"), "line", it.IfNot.Say)
	CheckSettings(&c.faults, fault.Join(path, "set"), it.IfNot.Set, c.prof)
}

// CheckSettings notes in faults every control, and every position of one, that the profile does not have.
func CheckSettings(faults *fault.List, path string, set aircraft.Settings, prof *aircraft.Profile) {
	if len(set) > MaxSettings {
		faults.Add(path, fmt.Sprintf("stay within %d", MaxSettings), "%d controls are to be moved at once", len(set))
	}
	for _, one := range set[:min(len(set), MaxSettings)] {
		id := one.Control
		at := fault.Join(path, id)
		i, ok := prof.ControlIndex(id)
		if !ok {
			faults.Unknown(at, "control", id, controlIDs(prof))
			continue
		}
		if control := &prof.Controls[i]; !has(control, one.Position) {
			faults.Add(at, positions(control, one.Position), "control %s has no position %q", id, one.Position)
		}
	}
}

func has(c *aircraft.Control, position string) bool {
	_, ok := c.Index(position)
	return ok
}

// positions is what to write instead of a position that a control does not have.
func positions(c *aircraft.Control, written string) string {
	if t := c.Travel; t != nil {
		return fmt.Sprintf("write a number from %g to %g in steps of %g", t.From, t.To, t.Step)
	}
	return fault.Suggest(written, c.Positions)
}

func controlIDs(p *aircraft.Profile) []string {
	return ids(p.Controls, func(c *aircraft.Control) string { return c.ID })
}

func gaugeIDs(p *aircraft.Profile) []string {
	return ids(p.Gauges, func(g *aircraft.Gauge) string { return g.ID })
}

func captionIDs(p *aircraft.Profile) []string {
	return ids(p.Captions, func(c *aircraft.Caption) string { return c.ID })
}

func alertIDs(p *aircraft.Profile) []string {
	return ids(p.Alerts, func(a *aircraft.Alert) string { return a.ID })
}

func ids[T any](list []T, id func(*T) string) []string {
	out := make([]string, len(list))
	for i := range list {
		out[i] = id(&list[i])
	}
	return out
}
