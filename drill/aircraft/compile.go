package aircraft

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"hornlark/drill/condition"
	"hornlark/drill/fault"
)

// compiled is what a profile becomes once it has been found sound: every name an index, every condition a function.
type compiled struct {
	ready bool

	controlAt, keyAt, gaugeAt, captionAt, alertAt, factAt map[string]int

	points       []FailurePoint
	pointAt      map[string]int
	outsidePoint int   // of the first fact
	mutePoint    []int // of each alert
	lampPoint    int

	// The readings: controls first, then indications, captions, alerts, facts, and what has just been lit.
	scope                                    condition.Scope
	asked                                    *condition.Set // the profile's own conditions
	modelSlot, captionSlot, alertSlot        int
	numberRuns                               []slots // runs of indications that are numbers
	truths                                   []int   // slots of those that are not, but for buses and equipment
	switchSlot                               int     // of the first of these
	factSlot, newWarningSlot, newCautionSlot int
	agoSlot                                  int // how long ago each alert began to sound
	slots                                    int
	dials                                    []dial            // of the gauges
	scales                                   []scale           // of the dials
	lamps                                    []lamp            // of the captions
	alertWhen, alertExpected                 []condition.Asked // expected: none is never
	alertMute, controlLocked                 []condition.Asked // none: never
	guardSeen                                []bool            // what locks a control is the position of others, and can be seen
	factSeen                                 []condition.Asked // none: always
	inspectionWhen                           []condition.Asked
	weakLamp                                 int              // caption; -1: none
	moves                                    [][]compiledMove // of each state
	wiring                                   wiring
	reckoned                                 reckoned
}

// slots are readings from one slot to before another.
type slots struct{ from, to int }

// dial is what moves the needle of a gauge, kept together since every step goes through all of them.
type dial struct {
	slot                 int             // of what it shows
	shown, armed, banded condition.Asked // none: always
	fadec                int             // engine whose FADEC sweeps the gauge; -1: none
	low, high            float64         // the ends of the scale
	bands                []span          // of each: readings that are in it for certain
	unred                span            // readings that are in no red band for certain
}

// scale is the part of a dial that every step, and every look, goes by, packed.
type scale struct {
	slot      int
	low, high float64
}

// span is readings from one to another, both included; none if from is above to.
type span struct{ from, to float64 }

// anywhere is every reading, and nowhere is none.
var (
	anywhere = span{math.Inf(-1), math.Inf(1)}
	nowhere  = span{math.Inf(1), math.Inf(-1)}
)

// lamp is what lights a caption, kept together for the same reason.
type lamp struct {
	when  condition.Asked
	after time.Duration
	latch bool
}

type compiledMove struct {
	set  []struct{ control, position int }
	wait time.Duration
}

// Scope is every name that a condition on this profile may use.
func (p *Profile) Scope() condition.Scope { return p.scope }

// Slots is how many readings there are: those of Scope.
func (p *Profile) Slots() int { return p.slots }

// GaugeSlot is where the indication that a gauge shows stands in the readings.
func (p *Profile) GaugeSlot(gauge int) int { return p.dials[gauge].slot }

// ControlIndex finds a control by its id.
func (p *Profile) ControlIndex(id string) (int, bool) { return find(p.controlAt, id) }

// ControlAt finds the control that a key moves, by the key's label on a US QWERTY keyboard.
func (p *Profile) ControlAt(key string) (int, bool) { return find(p.keyAt, key) }

// GaugeIndex finds a gauge by its id.
func (p *Profile) GaugeIndex(id string) (int, bool) { return find(p.gaugeAt, id) }

// CaptionIndex finds a caption by its id.
func (p *Profile) CaptionIndex(id string) (int, bool) { return find(p.captionAt, id) }

// AlertIndex finds an alert by its id.
func (p *Profile) AlertIndex(id string) (int, bool) { return find(p.alertAt, id) }

// FactIndex finds a fact by its id.
func (p *Profile) FactIndex(id string) (int, bool) { return find(p.factAt, id) }

func find(in map[string]int, id string) (int, bool) {
	i, ok := in[id]
	return i, ok
}

// Compile checks everything that a profile can get wrong and makes the profile ready for use. It lists every fault that
// it finds; with none, the profile is from now on only to be read, and may be shared.
func (p *Profile) Compile() fault.List {
	p.compiled = compiled{
		controlAt: map[string]int{}, keyAt: map[string]int{}, gaugeAt: map[string]int{},
		captionAt: map[string]int{}, alertAt: map[string]int{}, factAt: map[string]int{},
		pointAt: map[string]int{}, scope: condition.Scope{}, weakLamp: -1,
	}
	c := &compiler{Profile: p}
	c.identity()
	c.counts()
	c.controls()
	c.names()
	c.gauges()
	c.locks()
	c.captions()
	c.alerts()
	c.outside()
	c.states()
	c.systems()
	c.inspections()
	c.watch()
	if p.ready = len(c.faults) == 0; p.ready {
		p.reckoned = reckon(&p.Systems)
	}
	return c.faults
}

// Compiled reports whether the profile has been found sound, and is ready for use.
func (p *Profile) Compiled() bool { return p.ready }

// compiler collects what is wrong with a profile while it compiles it.
type compiler struct {
	*Profile
	faults fault.List
}

func (c *compiler) add(path, remedy, problem string, args ...any) {
	c.faults.Add(path, remedy, problem, args...)
}

// The forms of an id, and of the name of a profile or a state.
const (
	IDForm   = `^[a-z][a-z0-9_]{0,23}$`
	NameForm = `^[a-z0-9][a-z0-9-]{0,39}$`
)

var idForm, nameForm = regexp.MustCompile(IDForm), regexp.MustCompile(NameForm)

// Taken gives the words that no id can be, since conditions have a use for them.
func Taken() []string { return slices.Clone(taken) }

var taken = strings.Fields("and or not in true false nil let if else matches contains startsWith endsWith")

const (
	idRemedy   = "write small letters, digits and _, beginning with a letter, at most 24"
	nameRemedy = "write small letters, digits and -, at most 40"
)

func (c *compiler) identity() {
	if !nameForm.MatchString(c.Name) {
		c.add("name", nameRemedy, "the profile cannot be called %q", c.Name)
	}
	c.text("title", c.Title, 40)
	if c.By != "" {
		c.text("by", c.By, 60)
	}
}

// text checks words that are shown.
func (c *compiler) text(path, text string, most int) {
	n := utf8.RuneCountInString(text)
	switch {
	case n == 0:
		c.add(path, fmt.Sprintf("write one of at most %d characters", most), "there is no text")
	case n > most:
		c.add(path, fmt.Sprintf("shorten it to %d", most), "%q has %d characters", text, n)
	case strings.ContainsFunc(text, func(r rune) bool { return r < ' ' || r == 0x7f || r == utf8.RuneError }):
		c.add(path, "leave control characters out", "%q cannot be shown", text)
	}
}

// counts bounds the profile before anything else looks at it. Of what there is too much of, the rest is not looked at.
func (c *compiler) counts() {
	bounded(c, "controls", &c.Controls, len(allKeys()))
	bounded(c, "gauges", &c.Gauges, 64)
	bounded(c, "captions", &c.Captions, 96)
	bounded(c, "alerts", &c.Alerts, 16)
	bounded(c, "outside", &c.Outside, 16)
	bounded(c, "states", &c.States, 16)
	bounded(c, "inspections", &c.Inspections, 32)
	bounded(c, "systems.engines", &c.Systems.Engines, maxEngines)
	bounded(c, "systems.electrical.buses", &c.Systems.Electrical.Buses, maxBuses)
	bounded(c, "systems.electrical.equipment", &c.Systems.Electrical.Equipment, maxEquipment)
	if h := c.Systems.Hydraulics; h != nil {
		bounded(c, "systems.hydraulics.shut", &h.Shut, maxHydraulics)
	}
}

func bounded[T any](c *compiler, path string, list *[]T, most int) {
	if n := len(*list); n > most {
		c.add(path, fmt.Sprintf("a profile may have %d", most), "there are %d", n)
		*list = (*list)[:most]
	}
}

func (c *compiler) controls() {
	for i := range c.Controls {
		ctl, at := &c.Controls[i], fault.At("controls", i)
		c.text(at+".name", ctl.Name, 12)
		c.key(at+".key", i)
		c.positions(at, ctl)
		if ctl.Springs < 0 || ctl.Springs > time.Minute {
			c.add(at+".springs", "write a time up to 1m, or leave it out", "a control cannot spring back after %v", ctl.Springs)
		}
	}
}

func (c *compiler) key(path string, i int) {
	key := c.Controls[i].Key
	if zoneOf(key) == "" {
		c.add(path, "write one of "+strings.Join(allKeys(), " "), "there is no key %q for a control", key)
		return
	}
	if other, ok := c.keyAt[key]; ok {
		c.add(path, "choose a key that is free", "key %q already moves %s", key, c.Controls[other].ID)
		return
	}
	c.keyAt[key] = i
}

func (c *compiler) positions(at string, ctl *Control) {
	switch {
	case ctl.Travel != nil && len(ctl.Positions) > 0:
		c.add(at+".travel", "keep one of them", "a control has either positions or travel")
	case ctl.Travel != nil && ctl.Travel.count() == 0:
		c.add(at+".travel", fmt.Sprintf("write from, to and a step that makes 2 to %d notches", maxNotches), "the lever has no sensible notches")
	case ctl.Travel == nil && (len(ctl.Positions) < 2 || len(ctl.Positions) > maxNotches):
		c.add(at+".positions", fmt.Sprintf("write 2 to %d", maxNotches), "the control has %d positions", len(ctl.Positions))
	}
	for j, position := range ctl.Positions {
		c.text(fault.At(at+".positions", j), position, 12)
		if k := slices.Index(ctl.Positions, position); k < j {
			c.add(fault.At(at+".positions", j), "give each one a name of its own", "%q is there twice", position)
		}
	}
	if _, ok := ctl.Index(ctl.Start); ctl.Start != "" && !ok {
		c.unknown(at+".start", "position", ctl.Start, ctl.labels())
	}
}

// locks compiles what holds each control where it is.
func (c *compiler) locks() {
	for i := range c.Controls {
		lock := c.condition(fault.At("controls", i)+".locked", c.Controls[i].Locked)
		c.controlLocked = append(c.controlLocked, lock)
		c.guardSeen = append(c.guardSeen, lock != 0 && c.seen(lock))
	}
}

// seen reports whether a condition hangs on positions of controls alone: on guards and latches, which anybody sees.
func (c *compiler) seen(lock condition.Asked) bool {
	for name, is := range c.scope {
		if _, control := c.ControlIndex(name); !control && c.asked.Condition(lock).Reads(is.Slot) {
			return false
		}
	}
	return true
}

// unknown says that a word is not one of those that can stand there.
func (c *compiler) unknown(path, what, written string, known []string) {
	const most = 20
	remedy := "write one of " + strings.Join(known, ", ")
	if len(known) > most {
		remedy = fmt.Sprintf("write one of the %d that there are, as %s", len(known), strings.Join(fault.Likeliest(written, known, 6), ", "))
	}
	if near := fault.Nearest(written, known); near != "" {
		remedy = fmt.Sprintf("did you mean %s?", near)
	} else if len(known) == 0 {
		remedy = "the profile has none"
	}
	c.add(path, remedy, "there is no %s %q", what, written)
}

// names gives everything that a condition can read its slot, and sees to it that no two have one name.
func (c *compiler) names() {
	for i := range c.Controls {
		ctl := &c.Controls[i]
		if c.name(fault.At("controls", i)+".id", ctl.ID, ctl.kind(), i, ctl.labels()) {
			c.controlAt[ctl.ID] = i
		}
	}
	c.modelSlot = len(c.Controls)
	slot := c.modelSlot
	for _, in := range indications(&c.Systems) {
		c.name("systems", in.name, in.kind, slot, nil)
		slot++
	}
	c.captionSlot = slot
	c.switchSlot = slot - len(c.Systems.Electrical.Buses) - len(c.Systems.Electrical.Equipment)
	c.sortIndications()
	for i := range c.Captions {
		if c.name(fault.At("captions", i)+".id", c.Captions[i].ID, condition.Switch, slot, nil) {
			c.captionAt[c.Captions[i].ID] = i
		}
		slot++
	}
	c.alertSlot = slot
	for i := range c.Alerts {
		if c.name(fault.At("alerts", i)+".id", c.Alerts[i].ID, condition.Switch, slot, nil) {
			c.alertAt[c.Alerts[i].ID] = i
		}
		slot++
	}
	c.factSlot = slot
	for i := range c.Outside {
		if c.name(fault.At("outside", i)+".id", c.Outside[i].ID, condition.Switch, slot, nil) {
			c.factAt[c.Outside[i].ID] = i
		}
		slot++
	}
	c.newWarningSlot, c.newCautionSlot = slot, slot+1
	c.name("captions", "new_warning", condition.Switch, slot, nil)
	c.name("captions", "new_caution", condition.Switch, slot+1, nil)
	c.agoSlot = slot + 2
	for i := range c.Alerts {
		if at := fault.At("alerts", i) + ".id"; c.alertAt[c.Alerts[i].ID] == i {
			c.name(at, c.Alerts[i].ID+"_ago", condition.Number, c.agoSlot+i, nil)
		}
	}
	c.slots = c.agoSlot + len(c.Alerts)
	c.asked = condition.NewSet(c.slots)
}

// sortIndications finds the runs of numbers among what the model shows, and what is true or false.
func (c *compiler) sortIndications() {
	c.numberRuns, c.truths = nil, nil
	for i, in := range indications(&c.Systems)[:c.switchSlot-c.modelSlot] {
		slot, last := c.modelSlot+i, len(c.numberRuns)-1
		switch {
		case in.kind != condition.Number:
			c.truths = append(c.truths, slot)
		case last >= 0 && c.numberRuns[last].to == slot:
			c.numberRuns[last].to++
		default:
			c.numberRuns = append(c.numberRuns, slots{slot, slot + 1})
		}
	}
}

func (c *compiler) name(path, id string, kind condition.Type, slot int, positions []string) bool {
	switch {
	case !idForm.MatchString(id):
		c.add(path, idRemedy, "%q cannot be an id", id)
	case slices.Contains(taken, id):
		c.add(path, "choose another id", "conditions use the word %q for something else", id)
	case c.isTaken(id):
		c.add(path, "choose an id that is free", "something else is called %q already", id)
	default:
		if kind == condition.Number {
			positions = nil
		}
		c.scope[id] = condition.Name{Type: kind, Slot: slot, Positions: positions}
		return true
	}
	return false
}

func (c *compiler) isTaken(id string) bool {
	_, ok := c.scope[id]
	return ok
}

// condition compiles a condition; an empty one, or one that does not compile, is none.
func (c *compiler) condition(path, src string) condition.Asked {
	if src == "" {
		return 0
	}
	cond, err := condition.Compile(src, c.scope)
	var e *condition.Error
	if errors.As(err, &e) {
		c.add(path, e.Remedy, "column %d: %s", e.Column, e.Problem)
		return 0
	}
	return c.asked.Add(cond)
}

// needed compiles a condition that cannot be left out.
func (c *compiler) needed(path, src string) condition.Asked {
	if src == "" {
		c.add(path, "write one, as in nr < 95", "there is no condition")
	}
	return c.condition(path, src)
}

func (c *compiler) gauges() {
	for i := range c.Gauges {
		g, at := &c.Gauges[i], fault.At("gauges", i)
		c.text(at+".name", g.Name, 8)
		c.text(at+".spoken", g.Spoken, 40)
		if utf8.RuneCountInString(g.Unit) > 8 {
			c.add(at+".unit", "shorten it to 8 characters", "%q is too long for a unit", g.Unit)
		}
		c.dials = append(c.dials, dial{slot: c.indication(at, i), fadec: -1, low: g.Min, high: g.Max})
		c.scale(at, g)
		d := &c.dials[i]
		d.bands, d.unred, c.scales = g.spans(), g.unred(), append(c.scales, scale{d.slot, d.low, d.high})
	}
	// Only now is every gauge's name known, which the conditions of any other may use.
	for i := range c.Gauges {
		g, d, at := &c.Gauges[i], &c.dials[i], fault.At("gauges", i)
		d.shown = c.condition(at+".shown", g.Shown)
		d.armed = c.condition(at+".armed", g.Armed)
		d.banded = c.condition(at+".bands_while", g.BandsWhile)
	}
}

// indication finds what a gauge shows, and makes the gauge's id a name for it.
func (c *compiler) indication(at string, i int) (slot int) {
	g := &c.Gauges[i]
	if other, ok := c.gaugeAt[g.ID]; ok {
		c.add(at+".id", "choose an id that is free", "gauges[%d] is called %q already", other, g.ID)
		return 0
	}
	c.gaugeAt[g.ID] = i
	path, source := at+".indication", g.Indication
	if source == "" {
		path, source = at+".id", g.ID
	}
	shown, ok := c.scope[source]
	if !ok || shown.Type != condition.Number || shown.Slot < c.modelSlot {
		c.unknown(path, "indication", source, c.numbers())
		return 0
	}
	if source != g.ID {
		c.name(at+".id", g.ID, condition.Number, shown.Slot, nil)
	}
	return shown.Slot
}

// numbers is the name of every indication that a gauge can show.
func (c *compiler) numbers() []string {
	var names []string
	for _, in := range indications(&c.Systems) {
		if in.kind == condition.Number {
			names = append(names, in.name)
		}
	}
	return names
}

func (c *compiler) scale(at string, g *Gauge) {
	switch {
	case !finite(g.Min) || !finite(g.Max) || g.Min >= g.Max:
		c.add(at+".max", "write a max above the min", "the scale goes from %v to %v", g.Min, g.Max)
		return
	case g.Decimals < 0 || g.Decimals > 3:
		c.add(at+".decimals", "write 0 to 3", "a gauge cannot show %d decimals", g.Decimals)
	case !(g.Tolerance >= 0 && g.Tolerance <= g.Max-g.Min):
		c.add(at+".tolerance", "write a part of the scale", "the tolerance is %v", g.Tolerance)
	}
	end := g.Min
	for j, b := range g.Bands {
		path := fault.At(at+".bands", j)
		c.colour(path+".colour", b.Colour)
		switch {
		case !finite(b.From) || !finite(b.To) || b.From >= b.To:
			c.add(path, "write from, then to", "the band goes from %v to %v", b.From, b.To)
			return
		case b.From < g.Min || b.To > g.Max:
			c.add(path, fmt.Sprintf("stay between %v and %v, or change the scale", g.Min, g.Max), "the gauge cannot reach the band from %v to %v", b.From, b.To)
			return
		case b.From != end:
			c.add(path+".from", fmt.Sprintf("write %v", end), "the band begins at %v and not where the one before ends", b.From)
			return
		}
		end = b.To
	}
	if len(g.Bands) > 0 && end != g.Max {
		c.add(fault.At(at+".bands", len(g.Bands)-1)+".to", fmt.Sprintf("write %v", g.Max), "the bands end at %v and the scale at %v", end, g.Max)
	}
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

func (c *compiler) colour(path string, colour Colour) {
	known := []string{string(Green), string(Amber), string(Red), string(White)}
	if !slices.Contains(known, string(colour)) {
		c.unknown(path, "colour", string(colour), known)
	}
}

func (c *compiler) level(path string, level Level) {
	known := []string{string(Warning), string(Caution), string(Advisory)}
	if !slices.Contains(known, string(level)) {
		c.unknown(path, "level", string(level), known)
	}
}

func (c *compiler) captions() {
	for i := range c.Captions {
		cap, at := &c.Captions[i], fault.At("captions", i)
		c.text(at+".text", cap.Text, 12)
		c.level(at+".level", cap.Level)
		c.lamps = append(c.lamps, lamp{when: c.needed(at+".when", cap.When), after: cap.After, latch: cap.Latch})
		if cap.After < 0 || cap.After > time.Minute {
			c.add(at+".after", "write a time up to 1m, or leave it out", "a caption cannot wait for %v", cap.After)
		}
	}
}

// Tone is a sound that an alert can have.
type Tone struct {
	Name  string
	About string // how it sounds and what it is for, in a sentence
}

// Tones are all the sounds that an alert can have.
var Tones = []Tone{
	{"low-nr", "One note that sags, over and over: the rotor turns too slowly."},
	{"high-nr", "Quick notes that climb, in groups of three: the rotor turns too fast."},
	{"engine-out", "Two notes an octave apart, turn and turn about: an engine has failed."},
	{"fire", "A bell that is struck four times a second: fire."},
	{"gong", "One long stroke, low: a new warning caption."},
	{"caution", "Two light strokes: a new caution caption."},
	{"advisory", "A short soft note, and a longer one: something to know."},
}

// tones are their names.
var tones = func() (names []string) {
	for _, tone := range Tones {
		names = append(names, tone.Name)
	}
	return names
}()

func (c *compiler) alerts() {
	for i := range c.Alerts {
		al, at := &c.Alerts[i], fault.At("alerts", i)
		c.text(at+".name", al.Name, 24)
		c.level(at+".level", al.Level)
		if !slices.Contains(tones, al.Tone) {
			c.unknown(at+".tone", "tone", al.Tone, tones)
		}
		c.alertWhen = append(c.alertWhen, c.needed(at+".when", al.When))
		c.alertExpected = append(c.alertExpected, c.condition(at+".expected", al.Expected))
		c.alertMute = append(c.alertMute, c.condition(at+".mute", al.Mute))
		if al.Mute != "" && !al.Silenced {
			c.add(at+".mute", "write silenced: true as well, or leave mute out", "the alert cannot be silenced")
		}
		c.mutePoint = append(c.mutePoint, c.addPoints(al.ID, []FailurePoint{{"mute", "The alert does not sound; what goes with it is still to be seen."}}))
	}
}

func (c *compiler) outside() {
	c.outsidePoint = len(c.points)
	for i := range c.Outside {
		f, at := &c.Outside[i], fault.At("outside", i)
		c.text(at+".true", f.True, 60)
		c.text(at+".false", f.Not, 60)
		c.factSeen = append(c.factSeen, c.condition(at+".seen", f.Seen))
		about := "From now on: " + f.Not + "."
		if !f.So {
			about = "From now on: " + f.True + "."
		}
		c.addPoints("outside", []FailurePoint{{f.ID, about}})
	}
}

// longestState is the model time that a state may take to come about.
const longestState = 20 * time.Minute

func (c *compiler) states() {
	names := map[string]bool{}
	for i := range c.States {
		s, at := &c.States[i], fault.At("states", i)
		if !nameForm.MatchString(s.Name) {
			c.add(at+".name", nameRemedy, "a state cannot be called %q", s.Name)
		}
		if names[s.Name] {
			c.add(at+".name", "choose a name that is free", "there is another state %q", s.Name)
		}
		names[s.Name] = true
		var moves []compiledMove
		var total time.Duration
		for j, m := range s.Moves {
			moves = append(moves, c.move(fault.At(at+".moves", j), m))
			if m.Wait < 0 || m.Wait > longestState {
				c.add(fault.At(at+".moves", j)+".wait", "write a time up to 20m", "a move cannot wait for %v", m.Wait)
				continue
			}
			total += m.Wait
		}
		if len(s.Moves) > 64 || total > longestState {
			c.add(at+".moves", "write at most 64 moves that take at most 20m", "the state takes %d moves and %v", len(s.Moves), total)
		}
		c.moves = append(c.moves, moves)
	}
}

func (c *compiler) move(at string, m Move) compiledMove {
	out := compiledMove{wait: m.Wait}
	for _, one := range m.Set {
		id := one.Control
		path := at + ".set." + id
		control, ok := c.controlAt[id]
		if !ok {
			c.unknown(path, "control", id, slices.Sorted(maps.Keys(c.controlAt)))
			continue
		}
		position, ok := c.Controls[control].Index(one.Position)
		if !ok {
			c.unknown(path, "position", one.Position, c.Controls[control].labels())
			continue
		}
		out.set = append(out.set, struct{ control, position int }{control, position})
	}
	return out
}
