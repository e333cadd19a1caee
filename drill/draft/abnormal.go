package draft

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"hornlark/drill/aircraft"
)

// AbnormalOptions say what an abnormal to begin with is like.
type AbnormalOptions struct {
	Options
	Failure  string // failure point of the profile that causes it
	Harmless bool   // a look-alike: nothing is to be done
}

// flown is how long the aircraft is flown with the failure in it, to see what shows it.
const flown = time.Minute

// Abnormal writes an abnormal to begin with for a profile, which has been compiled. What shows it is found out by flying the aircraft for a
// minute, with the failure at its worst and without, on the standard day, cold and in each of its states. The error is that of the
// aircraft, or that there is no such failure point.
func Abnormal(prof *aircraft.Profile, o AbnormalOptions) (string, error) {
	starts, err := startsOf(prof)
	if err != nil {
		return "", err
	}
	return abnormal(prof, starts, o)
}

func abnormal(prof *aircraft.Profile, starts []start, o AbnormalOptions) (string, error) {
	point, ok := prof.FailureIndex(o.Failure)
	if !ok {
		return "", fmt.Errorf("%s has no failure point %q", prof.Name, o.Failure)
	}
	best, state, craft := []string(nil), "", starts[0].craft
	for _, s := range starts {
		if cues := s.seen(prof, point); len(cues) > len(best) {
			best, state, craft = cues, s.state, s.craft
		}
	}
	about := prof.FailurePoints()[point].About
	w := &writer{}
	w.comment("", "An abnormal to begin with. What begins with # may be left out; take the sign away from a line of YAML, and it counts. "+
		"The %s never existed: what is done is yours to write, and the flight manual of a real aircraft decides.", tidy(prof.Title))
	name := slug(o.Failure, "abnormal")
	w.row("name: %s", scalar(cmp.Or(o.Name, name)))
	w.row("title: %s", scalar(cmp.Or(o.Title, clip(capital(strings.ReplaceAll(name, "-", " "))))))
	w.row("about: %s", scalar(tidy(about)))
	w.row("profile: %s", scalar(prof.Name))
	if o.Harmless {
		w.row("harmless: true")
	}
	w.row("cause:")
	w.row("  - {failure: %s, to: 1, over: 0s}   # 0 is healthy, 1 is the worst; over is the time that it takes", o.Failure)
	w.row("# call: Words that come over the radio as it begins.")
	w.cues(prof, best, state)
	w.actions(prof, craft, &o, best)
	return w.String(), nil
}

// start is the aircraft as a sitting can begin, and what shows within a minute from then on with nothing wrong.
type start struct {
	state string // "" is cold and dark
	craft *aircraft.Aircraft
	usual []string
}

// startsOf takes an aircraft into all of its states, cold and dark first.
func startsOf(prof *aircraft.Profile) ([]start, error) {
	states := []string{""}
	for i := range prof.States {
		states = append(states, prof.States[i].Name)
	}
	var starts []start
	for _, state := range states {
		craft, err := aircraft.New(prof, aircraft.Weather{OAT: 15}, state)
		if err != nil {
			return nil, err
		}
		starts = append(starts, start{state, craft, shown(prof, craft.Clone())})
	}
	return starts, nil
}

// seen names what begins to show with a failure in the aircraft and without it does not, in order.
func (s *start) seen(prof *aircraft.Profile, point int) []string {
	ill := s.craft.Clone()
	ill.Fail(point, 1)
	return slices.DeleteFunc(shown(prof, ill), func(id string) bool { return slices.Contains(s.usual, id) })
}

// shown flies an aircraft for a minute, and names what begins to be seen or heard.
func shown(prof *aircraft.Profile, craft *aircraft.Aircraft) []string {
	var ids []string
	for end := craft.Now() + flown; craft.Now() < end; {
		craft.Step()
		craft.Drain(func(c aircraft.Change) {
			if id := shows(prof, c); id != "" && !slices.Contains(ids, id) {
				ids = append(ids, id)
			}
		})
	}
	return ids
}

// shows is the id of what begins to be seen or heard, "" for anything else.
func shows(prof *aircraft.Profile, c aircraft.Change) string {
	switch {
	case c.Kind == aircraft.CaptionLit:
		return prof.Captions[c.Index].ID
	case c.Kind == aircraft.AlertStarted:
		return prof.Alerts[c.Index].ID
	case c.Kind == aircraft.BandChanged && c.Colour != aircraft.Green:
		return prof.Gauges[c.Index].ID
	case c.Kind == aircraft.FactChanged:
		return prof.Outside[c.Index].ID
	}
	return ""
}

// cues writes what shows it.
func (w *writer) cues(prof *aircraft.Profile, cues []string, state string) {
	in := "cold and dark"
	if state != "" {
		in = "in the state " + state
	}
	if len(cues) > 0 {
		w.comment("", "What began to show within a minute, %s. Others may show it elsewhere.", in)
		w.row("cues: [%s]", strings.Join(cues, ", "))
		return
	}
	w.comment("", "Nothing began to show within a minute, cold or in any state. Write what it can be noticed by: alerts, captions, gauges, outside facts.")
	w.row("cues: [%s]", anyCue(prof))
}

// anyCue is something of a profile that can be noticed.
func anyCue(prof *aircraft.Profile) string {
	switch {
	case len(prof.Gauges) > 0:
		return prof.Gauges[0].ID
	case len(prof.Captions) > 0:
		return prof.Captions[0].ID
	case len(prof.Alerts) > 0:
		return prof.Alerts[0].ID
	}
	return prof.Controls[0].ID
}

// actions writes what is done, and how it ends.
func (w *writer) actions(prof *aircraft.Profile, craft *aircraft.Aircraft, o *AbnormalOptions, cues []string) {
	if o.Harmless {
		w.row("timeout: 15s      # after which it is over")
		return
	}
	c, off := switchOf(prof, craft, o.Failure)
	if reset, pushed := resetOf(prof, o.Failure); reset != nil {
		w.comment("", "What is to be done: the breaker is pushed in, once. Whether that is right is yours to say.")
		w.row("actions:")
		w.row("  - {set: {%s: %s}, within: 20s, say: %s}", reset.ID, flow(pushed), flow(clip(tidy(capital(strings.ToLower(reset.Name))+" "+pushed))))
		system, _, _ := strings.Cut(o.Failure, ".")
		w.row("handled: %s   # the end state", scalar(system+"_live"))
		w.row("timeout: 60s      # after which it has got away")
		return
	}
	w.comment("", "What is to be done, in this order, from the first cue on: set, silence: true, or answer: no to the challenge.")
	w.row("actions:")
	switch {
	case c != nil:
		w.row("  - {set: {%s: %s}, within: 15s, say: %s}", c.ID, flow(off), flow(clip(tidy(capital(strings.ToLower(c.Name))+" "+off))))
		w.row("# also: [{set: {%s: %s}, say: Why this is right as well.}]", c.ID, flow(off))
		w.row("# worse: [{set: {%s: %s}, say: Why this makes it worse.}]", c.ID, flow(c.Label(craft.Position(index(prof, c)))))
		w.row("handled: %s   # the end state", scalar(stands(c, off)))
		w.row("# afterwards: {%s: %s}   # what the crew puts back", c.ID, flow(c.Label(craft.Position(index(prof, c)))))
	case slices.ContainsFunc(prof.Alerts, func(a aircraft.Alert) bool { return a.Silenced && slices.Contains(cues, a.ID) }):
		w.row("  - {silence: true, within: 10s, say: Horn silenced}")
	default:
		w.row(`  - {answer: "no", within: 15s, say: Not confirmed}`)
	}
	if len(prof.Gauges) > 0 {
		g := &prof.Gauges[0]
		w.row("# lost: %s   # it has got away", scalar(fmt.Sprintf("%s < %s", g.ID, digits(g.Min))))
		w.row("# ends: [{when: %s, text: A sentence that is true under that condition.}]", flow(fmt.Sprintf("%s < %s", g.ID, digits(g.Min))))
	}
	w.row("timeout: 60s      # after which it has got away")
	w.row(`# say: "Exercise reset: all as it was."`)
	w.row("# reset: before   # the aircraft is as it was before; or a state of the profile")
	w.row("# remains: true   # the cause stays in the aircraft")
}

// resetOf finds the control that pushes in the breaker that has popped, and how, if it is one that stands for that alone.
func resetOf(prof *aircraft.Profile, failure string) (*aircraft.Control, string) {
	system, of, _ := strings.Cut(failure, ".")
	if of != "breaker" || prof.Systems.Electrical.Breakers == nil {
		return nil, ""
	}
	i, ok := prof.ControlIndex(prof.Systems.Electrical.Breakers.Reset)
	if _, live := prof.Scope()[system+"_live"]; !ok || !live || len(prof.Controls[i].Positions) != 2 {
		return nil, ""
	}
	return &prof.Controls[i], prof.Controls[i].Positions[1]
}

// switchOf finds the control that switches off what fails, if there is one that is on.
func switchOf(prof *aircraft.Profile, craft *aircraft.Aircraft, failure string) (*aircraft.Control, string) {
	system, _, _ := strings.Cut(failure, ".")
	i, ok := prof.ControlIndex(system)
	if !ok {
		return nil, ""
	}
	c := &prof.Controls[i]
	off := "off"
	at, ok := c.Index(off)
	if !ok {
		at, off = 0, c.Label(0)
	}
	if craft.Position(i) == at || c.Springs > 0 {
		return nil, ""
	}
	return c, off
}

func index(prof *aircraft.Profile, c *aircraft.Control) int {
	i, _ := prof.ControlIndex(c.ID)
	return i
}
