package screen_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/cmd/hornlark/screen"
	"hornlark/cmd/hornlark/web"
	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/bench"
	"hornlark/drill/drilltest"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// Nobody tells: whatever is shown, said and sounded with an injection is the same as without it, up to the first moment at
// which the aircraft itself differs, or somebody outside speaks; and from there to the trainee's next press only indications,
// captions, alerts and facts outside differ. A warning tone cuts the partner short, as the rules have it, so that what the
// partner says is compared up to the first tone that differs.
//
// A page is told as little: what it is sent, to the byte, and when.
//
// The injections of every built-in scenario are tried in turn, one with each seed: a sitting with it, and the same sitting
// without it and what would come after it, both with the same hands, at another pace with each seed.
var tellSeeds = flag.Int("tell.seeds", 2, "sittings of every scenario and policy in which nobody may tell; 200 take a quarter of an hour")

func TestNobodyTells(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, sc := range lib.Scenarios() {
		for _, policy := range policiesFor(sc) {
			t.Run(sc.Name+"/"+string(policy), func(t *testing.T) {
				t.Parallel()
				most := injectionsOf(sc)
				if most == 0 {
					t.Skip("nothing comes in between")
				}
				with := make([]*drill.Exercise, most+1) // by how many injections it has
				for n := range with {
					with[n] = compile(t, lib, sc.Name, policy, n)
				}
				var sum told
				seeds := *tellSeeds
				if testing.Short() {
					seeds = 1
				}
				for seed := range seeds {
					sum.add(tellTale(t, with, uint64(seed+1), seed%most))
				}
				t.Log(sum)
				if seeds >= 3 && sum.shown == 0 {
					t.Error("no injection showed itself, so nothing was compared")
				}
			})
		}
	}
}

// A part of a flow tells as little as the whole: of every built-in scenario, the phase of its last injection and the one after it.
func TestNobodyTellsInAPart(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for i, sc := range lib.Scenarios() {
		if rules, _ := sc.Rules(""); rules.Flow != scenario.Checklist || len(sc.Injections) == 0 || testing.Short() && i%4 != 0 {
			continue
		}
		t.Run(sc.Name, func(t *testing.T) {
			t.Parallel()
			setup := drilltest.Of(t, lib, sc.Name)
			setup.Scenario = sc.Only(setup.Procedure, around(setup.Procedure, sc.Injections[len(sc.Injections)-1].During))
			for _, policy := range []scenario.PolicyName{scenario.Prompted, scenario.Recall} {
				most := injectionsOf(setup.Scenario)
				with := make([]*drill.Exercise, most+1)
				for n := range with {
					with[n] = compileOf(t, setup, policy, n)
				}
				sum := tellTale(t, with, 1, most-1)
				t.Log(setup.Scenario.Phases, policy, sum)
				if sum.shown == 0 {
					t.Error("no injection showed itself, so nothing was compared")
				}
			}
		})
	}
}

// around is the phase of an item, and the one after it.
func around(proc *procedure.Procedure, item string) []string {
	ids := proc.PhaseIDs()
	for i := range proc.Phases {
		for k := range proc.Phases[i].Items {
			if proc.Phases[i].Items[k].ID == item {
				return ids[i:min(i+2, len(ids))]
			}
		}
	}
	return ids[:1]
}

// policiesFor is the policies in which a scenario's injections can come.
func policiesFor(sc *scenario.Scenario) []scenario.PolicyName {
	switch p, _ := scenario.PolicyOf(sc.Policy); p.Flow {
	case scenario.Figures:
		return nil
	case scenario.Nothing:
		return []scenario.PolicyName{sc.Policy}
	}
	return []scenario.PolicyName{scenario.Prompted, scenario.Recall, scenario.Watch}
}

// injectionsOf is how many injections a scenario has at the most.
func injectionsOf(sc *scenario.Scenario) int {
	n := len(sc.Injections)
	if sc.Drawn != nil {
		n += sc.Drawn.Count
	}
	return n
}

// upTo is a scenario with its first n injections only: those at fixed points first, then those that are drawn.
func upTo(sc *scenario.Scenario, n int) *scenario.Scenario {
	out := *sc
	out.Injections = sc.Injections[:min(n, len(sc.Injections))]
	out.Tell = ""
	if sc.Drawn != nil {
		drawn := *sc.Drawn
		drawn.Count = n - len(out.Injections)
		if out.Drawn = &drawn; drawn.Count < 0 {
			out.Drawn = nil
		}
	}
	return &out
}

// told is how much was compared.
type told struct {
	sittings, came, shown int
	steps, frames, sends  int
	apart                 time.Duration // from the first difference to the next press, in all
}

func (a *told) add(b told) {
	a.sittings += b.sittings
	a.came += b.came
	a.shown += b.shown
	a.steps += b.steps
	a.frames += b.frames
	a.sends += b.sends
	a.apart += b.apart
}

func (a told) String() string {
	return fmt.Sprintf("%d sittings, %d with an injection, %d of them shown before the end; %d moments, %d frames and %d moments of a page compared, %v of them after the first difference",
		a.sittings, a.came, a.shown, a.steps, a.frames, a.sends, a.apart.Round(time.Second))
}

// compile makes an exercise of a scenario with its first n injections only.
func compile(t *testing.T, lib *library.Library, name string, policy scenario.PolicyName, n int) *drill.Exercise {
	return compileOf(t, drilltest.Of(t, lib, name), policy, n)
}

func compileOf(t *testing.T, setup drilltest.Setup, policy scenario.PolicyName, n int) *drill.Exercise {
	setup.Policy, setup.Scenario = policy, upTo(setup.Scenario, n)
	ex, err := drill.Compile(setup.Documents)
	if err != nil {
		t.Fatal(err)
	}
	return ex
}

// tellTale compares a sitting with n+1 injections to one with n.
func tellTale(t *testing.T, exercises []*drill.Exercise, seed uint64, n int) told {
	without, with := begin(exercises[n], seed), begin(exercises[n+1], seed)
	pace := rand.New(rand.NewPCG(seed, 0x74656c6c))
	answers := &scenario.Answers{StartFrom: scenario.Perfect, Reaction: 400*time.Millisecond + time.Duration(pace.IntN(2600))*time.Millisecond}
	hand, err := bench.NewTrainee(without.ex, without.sitting, answers)
	if err != nil {
		t.Fatal(err)
	}
	c := comparison{t: t, a: without, b: with, hand: hand}
	c.run()
	if c.wrong != "" {
		t.Errorf("seed %d, injection %d: %s", seed, n+1, c.wrong)
	}
	c.sum.sittings++
	return c.sum
}

// side is one of two sittings that are compared.
type side struct {
	ex      *drill.Exercise
	sitting *drill.Sitting
	frames  *screen.Frames
	sends   *web.Sends // to a page
	view    drill.View
	ear     []drill.Heard
	outputs []drill.Output // of the last call
	names   []string       // of the injections that have been put in
	calls   int            // words from outside
	over    bool           // the crew has taken over, or the sitting has ended for what the aircraft did
	acts    []drill.Stored // of the instructor, still to come
}

func begin(ex *drill.Exercise, seed uint64) *side {
	docs := ex.Documents()
	return &side{
		ex: ex, sitting: ex.Begin(seed, drilltest.Lead), sends: web.NewSends(web.NewFace(docs.Profile, "", docs.Scenario.Map)),
		frames: screen.NewFrames(screen.Options{Profile: docs.Profile, Title: docs.Scenario.Title, Policy: ex.Policy(), Help: docs.Scenario.Map}),
	}
}

// take takes in what a sitting wants, and hears it when it is due.
func (s *side) take() {
	s.outputs = s.sitting.Outputs()
	for _, o := range s.outputs {
		switch o := o.(type) {
		case drill.Say:
			s.ear = append(s.ear, drill.Heard{Cue: o.Cue, Onset: o.Due, End: o.Due + drill.Estimate(o.Text)})
		case drill.Sound:
			s.ear = append(s.ear, drill.Heard{Cue: o.Cue, Onset: o.Due})
		case drill.Hush:
			s.ear = slices.DeleteFunc(s.ear, func(h drill.Heard) bool { return h.Cue == o.Cue && h.Onset > o.Due })
		case drill.Log:
			switch e := o.Entry; {
			case e.Kind == logbook.Cue && e.Class == logbook.Call:
				s.calls++
			case e.Kind == logbook.Handled, e.Kind == logbook.Lost && e.Why != logbook.Unseen, e.Kind == logbook.Inspect,
				e.Kind == logbook.Cleared && s.ex.Policy().Flow == scenario.Nothing: // then the next wait begins, and with it the end
				s.over = true
			case e.Kind == logbook.Inject:
				s.names, s.over = append(s.names, e.Injection), false
			}
		}
	}
	slices.SortStableFunc(s.ear, func(a, b drill.Heard) int { return int(a.Onset - b.Onset) })
}

// hears puts to a sitting what it has heard up to a time.
func (s *side) hears(t *testing.T, to time.Duration) {
	for len(s.ear) > 0 && s.ear[0].Onset <= to {
		h := s.ear[0]
		s.ear = s.ear[1:]
		s.input(t, h.Onset, h)
	}
}

func (s *side) input(t *testing.T, at time.Duration, e drill.Event) {
	if err := s.sitting.Input(at, e); err != nil {
		t.Fatal(err)
	}
	s.take()
}

// comparison goes through two sittings side by side.
type comparison struct {
	t     *testing.T
	a, b  *side // without, and with
	hand  drill.Hand
	now   time.Duration
	sum   told
	wrong string

	apart bool          // the aircraft differs
	since time.Duration // since when
	drawn time.Duration // when frames were last compared
	sent  time.Duration // and what a page is sent
	deaf  bool          // a warning tone or words from outside differ, so that speech may

	either bool // what comes may come in either of them, and keep from the other what would have been drawn there
}

// ran reports whether an injection that one of the two alone has had has run its course.
func (c *comparison) ran() bool {
	if c.either {
		return c.a.over != c.b.over || c.apart && c.b.over
	}
	return c.b.over && len(c.b.names) > len(c.a.names)
}

// run goes on until the trainee presses after the first difference, or to the end.
func (c *comparison) run() {
	c.outputs()
	for c.wrong == "" && !c.a.sitting.Ended() && !c.ran() {
		next := c.now + aircraft.StepLength
		if at, press, will := c.hand.Next(); will && at <= next {
			at = max(at, c.now)
			c.step(at)
			if c.wrong != "" || c.apart {
				break
			}
			c.hand.Pressed(at)
			c.a.input(c.t, at, press)
			c.b.input(c.t, at, press)
			c.outputs()
			continue
		}
		c.step(next)
	}
	if len(c.b.names) > len(c.a.names) {
		c.sum.came++
	}
	if c.apart {
		c.sum.shown++
		c.sum.apart += c.now - c.since
	}
}

// step takes both sittings to a time, and compares what there is to see and hear.
func (c *comparison) step(to time.Duration) {
	for _, s := range []*side{c.a, c.b} {
		s.outputs = nil
		var acted []drill.Output
		for len(s.acts) > 0 && s.acts[0].At <= to {
			act := s.acts[0]
			s.acts = s.acts[1:]
			s.hears(c.t, act.At)
			acted = append(acted, s.outputs...)
			s.input(c.t, act.At, act.Event)
			acted = append(acted, s.outputs...)
			s.outputs = nil
		}
		s.hears(c.t, to)
		s.outputs = append(acted, s.outputs...)
		if err := s.sitting.Advance(max(to, c.now)); err != nil {
			c.t.Fatal(err)
		}
		early := s.outputs
		s.take()
		s.outputs = append(early, s.outputs...)
	}
	c.now = to
	c.outputs()
}

// outputs compares what came out of both, and what is seen.
func (c *comparison) outputs() {
	for _, o := range c.a.outputs {
		c.hand.Take(o)
	}
	if c.a.sitting.Ended() && (c.either || len(c.b.names) > len(c.a.names)) {
		return // it came where the sitting without it is over
	}
	c.a.sitting.View(&c.a.view)
	c.b.sitting.View(&c.b.view)
	c.sum.steps++
	aircraftDiffers := differs(&c.a.view, &c.b.view)
	callDiffers := c.b.calls > c.a.calls || c.either && c.b.calls < c.a.calls
	if c.ran() {
		return // it has run its course
	}
	if (aircraftDiffers || callDiffers) && !c.apart {
		c.apart, c.since = true, c.now
	}
	a, b := audible(c.a.outputs), audible(c.b.outputs)
	c.deaf = c.deaf || callDiffers || warnings(c.a.outputs) != warnings(c.b.outputs)
	switch {
	case !c.apart && (strings.Join(a.speech, "\n") != strings.Join(b.speech, "\n") || strings.Join(a.tones, "\n") != strings.Join(b.tones, "\n")):
		c.fail("before anything differs it is heard: %q, and without the injection %q", b, a)
	case !c.deaf && strings.Join(a.speech, "\n") != strings.Join(b.speech, "\n"):
		c.fail("the partner says %q, and without the injection %q", b.speech, a.speech)
	}
	c.views()
	c.frames(aircraftDiffers)
	c.sends(aircraftDiffers)
}

// sends compares what a page is sent: every moment while something is in the aircraft, and twice a second before.
func (c *comparison) sends(aircraftDiffers bool) {
	if len(c.b.names) == len(c.a.names) && c.now < c.sent+500*time.Millisecond {
		return
	}
	c.sent = c.now
	c.sum.sends++
	saidA, sceneA := c.a.sends.Of(&c.a.view)
	saidB, sceneB := c.b.sends.Of(&c.b.view)
	if c.deaf {
		return
	}
	if !bytes.Equal(saidA, saidB) {
		c.fail("a page is told that this was said: %s, and without the injection %s", saidB, saidA)
	}
	switch {
	case aircraftDiffers && (sceneA == nil || sceneB == nil): // one of them had nothing new
	case aircraftDiffers:
		sceneA, sceneB = withoutAircraft(c.t, sceneA), withoutAircraft(c.t, sceneB)
		fallthrough
	default:
		if !bytes.Equal(sceneA, sceneB) {
			c.fail("a page is sent %s, and without the injection %s", sceneB, sceneA)
		}
	}
}

// withoutAircraft is a scene without what the aircraft shows.
func withoutAircraft(t *testing.T, scene []byte) []byte {
	var all map[string]any
	if err := json.Unmarshal(scene, &all); err != nil {
		t.Fatal(err)
	}
	for _, shown := range []string{"readings", "bands", "lit", "sounding", "facts", "locked"} {
		delete(all, shown)
	}
	rest, err := json.Marshal(all)
	if err != nil {
		t.Fatal(err)
	}
	return rest
}

func (c *comparison) fail(format string, args ...any) {
	if c.wrong == "" {
		c.wrong = fmt.Sprintf("at %v: %s", c.now, fmt.Sprintf(format, args...))
	}
}

// heardNow is what is asked to be heard, without the numbers of the cues.
type heardNow struct{ speech, tones []string }

func audible(outputs []drill.Output) heardNow {
	var h heardNow
	for _, o := range outputs {
		switch o := o.(type) {
		case drill.Say:
			o.Cue = 0
			h.speech = append(h.speech, o.Describe())
		case drill.Sound:
			o.Cue = 0
			h.tones = append(h.tones, o.Describe())
		}
	}
	return h
}

// warnings is how many warning tones begin.
func warnings(outputs []drill.Output) int {
	n := 0
	for _, o := range outputs {
		if s, ok := o.(drill.Sound); ok && s.Level == aircraft.Warning {
			n++
		}
	}
	return n
}

// differs reports whether the aircraft of two views differ in anything that can be seen, heard or felt.
func differs(a, b *drill.View) bool {
	return !slices.Equal(a.Readings, b.Readings) || !slices.Equal(a.Bands, b.Bands) || !slices.Equal(a.Alive, b.Alive) ||
		!slices.Equal(a.Lit, b.Lit) || !slices.Equal(a.Sounding, b.Sounding) || !slices.Equal(a.Silenced, b.Silenced) ||
		!slices.Equal(a.Facts, b.Facts) || !slices.Equal(a.Signs, b.Signs)
}

// views compares all of the views that is not the aircraft.
func (c *comparison) views() {
	a, b := &c.a.view, &c.b.view
	same := func(what string, is bool) {
		if !is {
			c.fail("the view differs in %s: %+v, and without the injection %+v", what, short(b), short(a))
		}
	}
	same("the partner being stopped", a.Stopped == b.Stopped)
	same("what an answer amounted to", a.Last == b.Last)
	same("being held", a.Paused == b.Paused)
	if c.deaf {
		return
	}
	same("controls", slices.Equal(a.Positions, b.Positions)) // the other pilot's hand follows what is said
	same("the end", a.Ended == b.Ended)
	same("the place in the flow", a.Phase == b.Phase && a.PhaseNo == b.PhaseNo && a.ItemNo == b.ItemNo && a.Items == b.Items)
	same("typing", a.Typing == b.Typing && a.Typed == b.Typed)
	same("the question", (a.Asked == nil) == (b.Asked == nil) && (a.Asked == nil || *a.Asked == *b.Asked))
	same("what was said and pressed", slices.Equal(a.Said, b.Said))
}

// short is a view without its slices.
func short(v *drill.View) string {
	return fmt.Sprintf("phase %d, item %d, asked %+v, stopped %v, last %+v, said %d", v.PhaseNo, v.ItemNo, v.Asked, v.Stopped, v.Last, len(v.Said))
}

// sizes are the layouts of the screen that are compared: the least, and a wide one.
var sizes = [][2]int{{80, 24}, {140, 45}}

// frames compares the rendered pages: every moment as the aircraft begins to differ and ten times a second from there, twice a second while something is in it, and
// every ten seconds before.
func (c *comparison) frames(aircraftDiffers bool) {
	c.a.frames.Update(&c.a.view)
	c.b.frames.Update(&c.b.view)
	every := 10 * time.Second
	if len(c.b.names) > len(c.a.names) {
		every = 500 * time.Millisecond
	}
	if aircraftDiffers {
		every = 100 * time.Millisecond
	}
	if c.now < c.drawn+every && c.drawn > 0 && !(aircraftDiffers && c.now < c.since+100*time.Millisecond) {
		return
	}
	c.drawn = c.now
	for _, size := range sizes {
		c.sum.frames++
		if !aircraftDiffers && !c.deaf {
			if a, b := c.a.frames.Frame(size[0], size[1]), c.b.frames.Frame(size[0], size[1]); a != b {
				c.fail("the frame of %dx%d differs, and the aircraft does not:\n%s\nwithout the injection\n%s", size[0], size[1], b, a)
			}
			continue
		}
		a, b := c.a.frames.Parts(size[0], size[1]), c.b.frames.Parts(size[0], size[1])
		parts := []struct{ what, a, b string }{{"last answer", a.Last, b.Last}, {"foot", a.Foot, b.Foot}}
		if !c.deaf {
			parts = append(parts, []struct{ what, a, b string }{{"title", a.Title, b.Title}, {"controls", a.Cockpit, b.Cockpit}, {"challenge", a.Challenge, b.Challenge}}...)
		}
		for _, p := range parts {
			if p.a != p.b {
				c.fail("the %s of the frame of %dx%d differs:\n%s\nwithout the injection\n%s", p.what, size[0], size[1], p.b, p.a)
			}
		}
	}
}
