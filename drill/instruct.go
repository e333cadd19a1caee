package drill

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// Instruct is something that the instructor does to the sitting: what 14 CFR Part 60, Appendix D, Table D3A, 10 lists, as far as a desk can
// have it. What cannot be done is logged with the reason, and changes nothing.
type Instruct struct {
	Do   Instruction
	What string  // what Do says
	When Moment  // of Insert: when its moment comes; of Remark, At: what it is about. Without one: now
	To   float64 // of SetWeather, SetFuel and SetLevel: how much
}

// Moment is a moment of a sitting. At most one of its fields says when; none: now.
type Moment struct {
	At    time.Duration `json:"at,omitempty"`    // running time, ns: pauses are left out
	Phase string        `json:"phase,omitempty"` // id of a phase: as it begins
	Item  string        `json:"item,omitempty"`  // id of an item: as it is asked
}

// Instruction is what the instructor does.
type Instruction string

// The instructions.
const (
	Insert     Instruction = "insert"  // What: the name of an abnormal, which goes into the aircraft at its moment, once nothing else is in it
	Delete     Instruction = "delete"  // What: the name of an abnormal, or of one injection, whose moment has not come; it will not
	Clear      Instruction = "clear"   // what is in the aircraft is taken out again; What: its name, or nothing
	Freeze     Instruction = "freeze"  // everything is held
	Release    Instruction = "release" // and goes on
	SayOut     Instruction = "say"     // What: a sentence, spoken in the crew's voice
	SetBack    Instruction = "back"    // What: the id of a phase that has begun; the aircraft and the flow are as they were then, the weather and ground power as they are
	SetWeather Instruction = "weather" // What: a figure of the weather, by its name in scenarios; To: what it is from now on
	SetFuel    Instruction = "fuel"    // To: what is in the tanks together, kg
	SetPower   Instruction = "power"   // What: on or off; somebody outside plugs ground power in, or unplugs it
	SetSound   Instruction = "sound"   // What: on or off; whether anything is heard
	SetLevel   Instruction = "level"   // To: how much softer than it was set everything sounds, dB: 0 to LeastLevel
	Remark     Instruction = "remark"  // What: a text for the debrief, of which nothing is shown or said before the end
)

// Instructions are all of them, in an order for lists.
var Instructions = []Instruction{Insert, Delete, Clear, Freeze, Release, SetBack, SetWeather, SetFuel, SetPower, SetSound, SetLevel, SayOut, Remark}

// On and Off are what SetPower and SetSound are given.
const (
	On  = "on"
	Off = "off"
)

// Bounds on what an instructor does. A release always goes through.
const (
	MaxInstructions = 1000                   // of a sitting, those that could not be done among them; of more nothing is taken notice of
	MaxAtOnce       = 60                     // in a burst
	paceOf          = 500 * time.Millisecond // of running time, for each of them after that
	MaxSaid         = 200                    // characters of a sentence
	MaxRemark       = 1000                   // characters of a remark
	maxName         = 64                     // characters of a name
)

// LeastLevel is how far the sound can be turned down, in dB.
const LeastLevel = -40.0

// station is what the instructor has done so far, and what of it lasts.
type station struct {
	given    int           // instructions
	free     time.Duration // running time at which as many as MaxAtOnce may come at once again
	flooded  bool          // more came than that
	inserted int

	weather aircraft.Weather // what the instructor has made of it
	power   bool             // ground power is plugged in
	off     bool             // nothing is heard
	wasOff  bool             // or was not, once
	level   float64          // dB
	offFrom time.Duration    // when the sound was last turned off
	onFrom  time.Duration    // when it was last turned on
	owed    words            // what the crew has to say once the sitting is released
}

// words are what the crew says as something is over.
type words struct {
	text  string
	moved bool // they put controls back
}

func newStation(ex *Exercise) station {
	return station{weather: ex.docs.Scenario.Weather, power: true}
}

// muted reports whether what began to sound at a running time was turned off.
func (t *station) muted(at time.Duration) bool {
	return t.wasOff && at >= t.offFrom && (t.off || at < t.onFrom)
}

// kept is an instruction as it can be kept and read again: text in one line of valid characters, cut one character beyond what there may be
// of it, so that it stays too long; a figure that is a number.
func (e Instruct) kept() Instruct {
	e.Do = Instruction(cmp.Or(oneLine(string(e.Do), maxName), "?"))
	e.What = oneLine(e.What, e.longest())
	e.When.Phase, e.When.Item = oneLine(e.When.Phase, maxName), oneLine(e.When.Item, maxName)
	switch e.Do {
	case Insert:
	case Remark: // of a moment it takes a time alone
		e.When.Item, e.When.Phase = cmp.Or(e.When.Item, e.When.Phase), ""
	default:
		e.When = Moment{}
	}
	if math.IsNaN(e.To) || math.IsInf(e.To, 0) {
		e.To = math.MaxFloat64 // out of every range
	}
	e.To += 0 // no negative zero
	return e
}

// longest is how many characters What may have.
func (e Instruct) longest() int {
	switch e.Do {
	case SayOut:
		return MaxSaid
	case Remark:
		return MaxRemark
	}
	return maxName
}

func oneLine(text string, most int) string {
	text = strings.Join(strings.Fields(strings.ToValidUTF8(text, "\uFFFD")), " ")
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return text
}

// instructed is the instruction that an entry tells of.
func instructed(e *logbook.Entry) Instruct {
	i := Instruct{Do: Instruction(e.Name), What: cmp.Or(e.Abnormal, e.Text), When: Moment{At: e.Onset, Item: e.Item}, To: e.Value}
	if i.Do == Insert {
		i.What, i.When.Phase = e.Abnormal, e.Text
	}
	return i
}

// entry is the instruction as the log has it.
func (e Instruct) entry() logbook.Entry {
	entry := logbook.Entry{Kind: logbook.Instruct, Seat: logbook.Instructor, Name: string(e.Do), Value: e.To, Onset: e.When.At, Item: e.When.Item}
	switch e.Do {
	case Insert:
		entry.Abnormal, entry.Text = e.What, e.When.Phase
	case Delete, Clear, SetBack:
		entry.Abnormal = e.What
	default:
		entry.Text = e.What
	}
	return entry
}

// instruct carries out what the instructor does. What cannot be done is logged, and changes nothing.
func (s *Sitting) instruct(e Instruct) {
	e = e.kept()
	if e.Do == Release && s.paused {
		s.release(logbook.Instructor)
		return
	}
	why, could := s.bounded()
	switch {
	case why == ignored:
		return
	case why == "":
		why, could = s.cannot(e)
	}
	if e.Do == Freeze && why == "" {
		s.hold(logbook.Instructor)
		return
	}
	entry := e.entry()
	entry.Why, entry.Truth = why, could
	s.log(entry)
	if why == "" {
		s.carryOut(e)
	}
}

// ignored is why nothing at all is taken notice of.
const ignored logbook.Reason = "ignored"

// bounded counts an instruction, and says why there may be no more: once, and after that it is ignored.
func (s *Sitting) bounded() (why logbook.Reason, could string) {
	t := &s.station
	if t.given >= MaxInstructions {
		return ignored, ""
	}
	if free := max(t.free, s.now) + paceOf; free-s.now <= MaxAtOnce*paceOf {
		t.free, t.flooded = free, false
	} else if t.flooded {
		return ignored, ""
	} else {
		t.flooded = true
		why, could = logbook.TooFast, fmt.Sprintf("%d at once", MaxAtOnce)
	}
	if t.given++; t.given == MaxInstructions {
		return logbook.TooMany, fmt.Sprint(MaxInstructions)
	}
	return why, could
}

// cannot says why an instruction cannot be done, and what could be: a range, or names. Empty: it can.
func (s *Sitting) cannot(e Instruct) (why logbook.Reason, could string) {
	switch e.Do {
	case Insert:
		return s.cannotInsert(e)
	case Delete:
		if s.waitingFor(e.What) != nil {
			return "", ""
		}
		return logbook.NotWaiting, ""
	case Clear:
		if in := s.injections.active; in == nil || e.What != "" && !in.called(e.What) {
			return logbook.NotWaiting, ""
		}
	case Freeze, Release: // a release of what is held goes through before
		if s.paused == (e.Do == Freeze) {
			return logbook.Already, ""
		}
	case SayOut:
		if s.paused {
			return logbook.WhileHeld, ""
		}
		return lengthOf(e.What, MaxSaid)
	case Remark:
		switch why, could := lengthOf(e.What, MaxRemark); {
		case why != "":
			return why, could
		case e.When.Phase != "" || e.When.Item != "" || e.When.At < 0 || e.When.At > s.now:
			return logbook.OutOfRange, "a time of the sitting up to now"
		}
	case SetBack:
		return s.cannotSetBack(e.What)
	case SetWeather:
		least, most, _, ok := aircraft.WeatherRange(e.What)
		if !ok {
			return logbook.NoSuch, strings.Join(aircraft.WeatherFigures(), ", ")
		}
		return within(e.To, least, most)
	case SetFuel:
		return within(e.To, 0, s.profile().FuelMost())
	case SetPower:
		if !s.profile().HasGroundPower() {
			return logbook.NotFitted, ""
		}
		return switched(e.What, s.station.power)
	case SetSound:
		return switched(e.What, !s.station.off)
	case SetLevel:
		return within(e.To, LeastLevel, 0)
	default:
		return logbook.NoSuch, ""
	}
	return "", ""
}

func within(value, least, most float64) (logbook.Reason, string) {
	if value >= least && value <= most {
		return "", ""
	}
	return logbook.OutOfRange, fmt.Sprintf("%g to %g", least, most)
}

func switched(to string, on bool) (logbook.Reason, string) {
	switch {
	case to != On && to != Off:
		return logbook.NoSuch, On + ", " + Off
	case on == (to == On):
		return logbook.Already, ""
	}
	return "", ""
}

func lengthOf(text string, most int) (logbook.Reason, string) {
	if n := len([]rune(text)); n == 0 || n > most {
		return logbook.OutOfRange, fmt.Sprintf("1 to %d characters", most)
	}
	return "", ""
}

func (s *Sitting) cannotInsert(e Instruct) (why logbook.Reason, could string) {
	f, m := &s.flow, e.When
	if !slices.ContainsFunc(s.every, func(a *abnormal) bool { return a.Name == e.What }) {
		return logbook.NoSuch, ""
	}
	if s.station.inserted >= 2*MaxInjections {
		return logbook.TooMany, fmt.Sprint(2 * MaxInjections)
	}
	given := 0
	for _, so := range []bool{m.At != 0, m.Phase != "", m.Item != ""} {
		given += one(so)
	}
	switch {
	case given > 1:
		return logbook.NoSuch, "one moment"
	case m.Item != "":
		i := slices.IndexFunc(f.items, func(it *item) bool { return it.ID == m.Item })
		switch {
		case i < f.first:
			return logbook.NoSuch, ""
		case i < f.turn, i == f.turn && f.asked, !f.pending(i):
			return logbook.Past, ""
		}
	case m.Phase != "":
		i := s.phaseCalled(m.Phase)
		switch {
		case i < s.part.from || len(f.items) == 0:
			return logbook.NoSuch, ""
		case f.turn >= len(f.items), f.turn >= 0 && i <= f.items[f.turn].phase:
			return logbook.Past, ""
		}
	case m.At != 0 && m.At <= s.now:
		return logbook.Past, ""
	case m.At > MaxLength:
		return logbook.OutOfRange, "up to " + MaxLength.String()
	}
	return "", ""
}

func (s *Sitting) phaseCalled(id string) int {
	return slices.IndexFunc(s.procedureNow().Phases, func(ph procedure.Phase) bool { return ph.ID == id })
}

func (s *Sitting) cannotSetBack(phase string) (why logbook.Reason, could string) {
	i := s.phaseCalled(phase)
	if i < 0 || len(s.flow.items) == 0 {
		return logbook.NoSuch, ""
	}
	if _, begun := s.phases[i]; !begun {
		return logbook.NotBegun, ""
	}
	return "", ""
}

// called reports whether an injection goes by a name: its own, or that of its abnormal.
func (in *inserted) called(name string) bool { return in.name == name || in.Name == name }

// waitingFor is the first injection of a name whose moment has not come, or nil.
func (s *Sitting) waitingFor(name string) *inserted {
	for _, in := range s.injections.list {
		if in.called(name) && (in.how == waiting || in.how == due) {
			return in
		}
	}
	return nil
}

// carryOut does what can be done.
func (s *Sitting) carryOut(e Instruct) {
	switch e.Do {
	case Insert:
		s.insert(e)
	case Delete:
		for in := s.waitingFor(e.What); in != nil; in = s.waitingFor(e.What) {
			in.how = deleted
		}
	case Clear:
		s.clear(s.injections.active)
	case SayOut:
		s.say(Crew, logbook.Speech, e.What)
	case SetBack:
		s.setBack(s.phaseCalled(e.What))
	case SetWeather:
		s.station.weather = s.station.weather.With(e.What, e.To)
		s.keepAround()
	case SetFuel:
		s.both(func(craft *aircraft.Aircraft) { _ = craft.SetFuel(e.To) }) // it has been found to fit
	case SetPower:
		s.station.power = e.What == On
		s.keepAround()
	case SetSound:
		t := &s.station
		if t.off = e.What == Off; t.off {
			t.offFrom, t.wasOff = s.now, true
		} else {
			t.onFrom = s.now
		}
		s.loudness()
	case SetLevel:
		s.station.level = e.To
		s.loudness()
	}
}

func (s *Sitting) loudness() {
	s.out = append(s.out, Loudness{Due: s.clock.Callers(s.now), On: !s.station.off, DB: s.station.level})
}

// both does something to the aircraft, and to its healthy twin: what is changed around both is nothing that is wrong with the one.
func (s *Sitting) both(do func(*aircraft.Aircraft)) {
	do(s.craft)
	if s.healthy != nil {
		do(s.healthy)
	}
}

// keepAround has the air and the ground power of the aircraft as the instructor has made them.
func (s *Sitting) keepAround() {
	s.both(func(craft *aircraft.Aircraft) {
		_ = craft.SetWeather(s.station.weather) // it has been found to fit
		craft.PlugIn(s.station.power)
	})
}

// insert has an abnormal come at its moment, or as soon as nothing else is in the aircraft.
func (s *Sitting) insert(e Instruct) {
	t := &s.injections
	ab := s.every[slices.IndexFunc(s.every, func(a *abnormal) bool { return a.Name == e.What })]
	in := t.named(ab, nil)
	in.how, in.at, in.mine = due, s.now, true
	if e.When != (Moment{}) {
		in.how = waiting
		in.fixed = &injection{Injection: &scenario.Injection{Abnormal: e.What, At: e.When.At}, abnormal: ab, during: -1, phase: -1}
		switch {
		case e.When.Item != "":
			in.fixed.during = slices.IndexFunc(s.flow.items, func(it *item) bool { return it.ID == e.When.Item })
		case e.When.Phase != "":
			in.fixed.phase = s.phaseCalled(e.When.Phase)
		}
	}
	s.station.inserted++
	t.list = append(t.list, in)
}

// clear takes what is in the aircraft out again. The partner, if they were stopped, waits to be told to go on.
func (s *Sitting) clear(in *inserted) {
	s.heal(in)
	s.finish(in, logbook.Entry{Kind: logbook.Cleared, Seat: logbook.Instructor})
}

func (s *Sitting) heal(in *inserted) {
	for _, c := range in.causes {
		s.craft.Fail(c.point, 0)
	}
}

// setBack puts everything back to where it was when a phase began: the aircraft, healthy, and the flow. What is in the aircraft is out of it,
// without a word. How far its gauges have been stays seen.
func (s *Sitting) setBack(phase int) {
	if in := s.injections.active; in != nil {
		if in.how == showing {
			s.logEnding(in)
		}
		in.how, in.ended = over, logbook.Cleared
		s.injections.active, s.healthy = nil, nil
		s.log(logbook.Entry{Kind: logbook.Cleared, Seat: logbook.Instructor, Injection: in.name})
	}
	s.hushAll()
	was := s.craft
	s.craft = s.phases[phase].Clone()
	for point := range s.profile().FailurePoints() {
		s.craft.Fail(point, 0)
	}
	s.craft.Drain(func(aircraft.Change) {})
	s.craft.Remember(was)
	s.keepAround()
	s.station.owed = words{}
	for later := range s.phases {
		if later > phase {
			delete(s.phases, later) // they have not begun any more
		}
	}
	f := &s.flow
	f.resuming, f.refused, s.partner.stopped = false, "", false
	first := slices.IndexFunc(f.items, func(it *item) bool { return it.phase == phase })
	for k := first; k < len(f.items); k++ {
		if f.state[k].stage != pending {
			f.reopen(k)
			s.log(logbook.Entry{Kind: logbook.Reopen, Seat: logbook.Instructor, Item: f.items[k].ID})
		}
		f.gated[k] = false
	}
	f.last = first - 1
	s.turnTo(first)
	if !s.paused {
		s.resound()
	}
}
