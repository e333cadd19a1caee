package screen

import (
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"

	"hornlark/drill"
	"hornlark/drill/scenario"
)

var frameSizes = [][2]int{{80, 24}, {80, 25}, {80, 30}, {132, 40}, {140, 45}}

// The frame without a terminal is the one that a terminal gets.
func TestFramesAreThoseOfTheScreen(t *testing.T) {
	p := twin(t)
	for _, size := range frameSizes {
		for _, v := range []*drill.View{running(p), troubled(p)} {
			d := &drawing{stage: &stage{page: showing(t, options(p), v)}, canvas: newCanvas(0, 0), palette: of256, width: size[0], height: size[1]}
			if got, want := Frame(options(p), v, size[0], size[1]), d.frame(); got != want {
				t.Errorf("%v: the frame is\n%s\nand the screen has\n%s", size, ansi.Strip(got), ansi.Strip(want))
			}
		}
	}
	if got := Frame(options(p), running(p), 79, 24); !strings.Contains(got, "enlarge it") {
		t.Errorf("a terminal that is too small gets %q", got)
	}
}

// The parts, one after the other, are the whole frame: nothing is drawn outside them.
func TestPartsMakeTheFrame(t *testing.T) {
	p := twin(t)
	for _, size := range frameSizes {
		for _, v := range []*drill.View{running(p), troubled(p)} {
			f := NewFrames(options(p))
			f.Update(v)
			parts := f.Parts(size[0], size[1])
			lines := func(part string) []string { return strings.Split(strings.TrimSuffix(ansi.Strip(part), "\n"), "\n") }
			var got []string
			for _, part := range []string{parts.Title, parts.Challenge, "", parts.Captions, parts.Outside, parts.Gauges, parts.Cockpit, parts.Said, parts.Foot} {
				if part == "" && got != nil && len(got) != 1+len(lines(parts.Challenge)) {
					continue // no room for it
				}
				got = append(got, lines(part)...)
			}
			want := strings.Split(ansi.Strip(f.Frame(size[0], size[1])), "\n")
			row := 1 + len(lines(parts.Challenge))
			if !strings.HasPrefix(want[row], ansi.Strip(strings.TrimSpace(parts.Last))) || !strings.HasSuffix(want[row], strings.TrimSpace(ansi.Strip(parts.Sound))) {
				t.Errorf("%v: %q has not the last answer %q and the sound %q", size, want[row], parts.Last, parts.Sound)
			}
			want[row] = ""
			if strings.Join(compact(got), "\n") != strings.Join(compact(want), "\n") {
				t.Errorf("%v: the parts are\n%s\nand the frame is\n%s", size, strings.Join(got, "\n"), strings.Join(want, "\n"))
			}
		}
	}
}

// compact leaves out empty lines.
func compact(lines []string) []string {
	var out []string
	for _, line := range lines {
		if strings.TrimSpace(line) != "" {
			out = append(out, line)
		}
	}
	return out
}

// What the aircraft shows changes the parts that show it, and no other: nothing moves, and nothing else is said.
func TestTheAircraftChangesItsOwnPartsOnly(t *testing.T) {
	p := twin(t)
	for _, one := range scenario.Policies() {
		for _, size := range frameSizes {
			o := options(p)
			o.Policy = one
			before := NewFrames(o)
			before.Update(running(p))
			v := troubled(p)
			asRunning := running(p)
			v.Stopped, v.Last, v.Asked, v.Said = false, asRunning.Last, asRunning.Asked, asRunning.Said
			after := NewFrames(o)
			after.Update(v)
			a, b := before.Parts(size[0], size[1]), after.Parts(size[0], size[1])
			if a.Gauges == b.Gauges || a.Captions == b.Captions || a.Sound == b.Sound || a.Outside == b.Outside {
				t.Fatalf("%s, %v: the aircraft does not show what is wrong", one.Name, size)
			}
			a.Gauges, a.Captions, a.Sound, a.Outside = b.Gauges, b.Captions, b.Sound, b.Outside
			if a != b {
				t.Errorf("%s, %v: the frame differs elsewhere too:\n%+v\n%+v", one.Name, size, a, b)
			}
		}
	}
}

// Where feedback waits for the end, the frame says the same whatever the last answer amounted to.
func TestFeedbackAtTheEndSaysNothing(t *testing.T) {
	p := twin(t)
	o := options(p)
	o.Policy.Feedback = scenario.AtTheEnd
	right, wrong := running(p), running(p)
	wrong.Last = drill.Response{Item: "n1-idle", Text: "not done: N1 stable at idle"}
	for _, size := range frameSizes {
		a, b := Frame(o, right, size[0], size[1]), Frame(o, wrong, size[0], size[1])
		if a != b || strings.Contains(a, "[+]") {
			t.Errorf("%v: it says\n%s\nor\n%s", size, ansi.Strip(a), ansi.Strip(b))
		}
	}
}

// A partner who has been stopped is shown as such, with the key that goes on, by every policy and on every layout.
func TestStoppedNamesTheKey(t *testing.T) {
	p := twin(t)
	for _, one := range scenario.Policies() {
		for _, layout := range Layouts() {
			o := options(p)
			o.Policy, o.Layout = one, layout
			v := running(p)
			v.Stopped = true
			f := NewFrames(o)
			f.Update(v)
			parts := f.Parts(80, 24)
			got, foot := ansi.Strip(parts.Challenge), ansi.Strip(parts.Foot)
			if key := layout.Label(drill.StopCall); !strings.Contains(got, "STOPPED") || !strings.Contains(got, key+" ") && !strings.Contains(got, key+"\n") || !strings.Contains(foot, key+" stop") {
				t.Errorf("%s, %s: it says %q, and at the foot %q", one.Name, layout, got, foot)
			}
		}
	}
}

// What was said and pressed is shown where there is room, the latest of it, with who it was.
func TestSaidIsShown(t *testing.T) {
	p := twin(t)
	v := running(p)
	for i := range drill.SaidLines {
		v.Said = append(v.Said, drill.Line{Who: "crew", Text: strings.Repeat("x", i+1)})
	}
	f := NewFrames(options(p))
	f.Update(v)
	got := ansi.Strip(f.Parts(140, 45).Said)
	if lines := strings.Split(strings.TrimSpace(got), "\n"); !strings.HasSuffix(lines[len(lines)-1], "crew       "+strings.Repeat("x", drill.SaidLines)) {
		t.Errorf("it ends with %q", lines[len(lines)-1])
	}
	v.Said = running(p).Said
	f.Update(v)
	if got := ansi.Strip(f.Parts(140, 45).Said); !strings.Contains(got, "you        yes") || !strings.Contains(got, "partner    Oil pressure, engine one") {
		t.Errorf("said is\n%s", got)
	}
	if got := f.Parts(80, 24).Said; got != "" {
		t.Errorf("a terminal without room shows %q", got)
	}
}
