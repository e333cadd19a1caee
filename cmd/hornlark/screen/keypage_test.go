package screen

import (
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/charmbracelet/x/ansi"

	"hornlark/drill"
	"hornlark/drill/scenario"
)

// The key that shows the keys is one that no control can have, and what is printed on it asks for them, on every layout. While a
// reading is typed a minus is none.
func TestEveryLayoutHasAKeyForTheKeys(t *testing.T) {
	for layout, want := range map[Layout]string{QWERTY: "?", QWERTZ: "-", AZERTY: "!", Dvorak: "Z"} {
		label := keysLabel(layout)
		if label != want {
			t.Errorf("%s: it is labelled %q, want %q", layout, label, want)
		}
		d := decoder{layout: layout}
		d.feed(time.Unix(1, 0), []byte(strings.ToLower(label)), func(s Stroke) {
			if !s.AsksForKeys(false) || s.AsksForKeys(true) == (label == "-") {
				t.Errorf("%s: %q asks for the keys %v, and while a reading is typed %v", layout, label, s.AsksForKeys(false), s.AsksForKeys(true))
			}
		})
	}
	for _, row := range newCockpit(twin(t), QWERTY).rows {
		if slices.ContainsFunc(row.slots, func(s slot) bool { return s.label == "/" }) {
			t.Error("a control may have the key")
		}
	}
}

// While the sitting is held nothing of the aircraft is to be seen, whatever it shows: the page is the same.
func TestAHeldSittingHidesTheAircraft(t *testing.T) {
	p := twin(t)
	for _, help := range []scenario.Help{scenario.Names, scenario.Bare, scenario.None} {
		for _, size := range frameSizes {
			o := options(p)
			o.Help = help
			healthy, ill := running(p), troubled(p)
			healthy.Paused, ill.Paused, ill.Positions = true, true, make([]int, len(p.Controls))
			a, b := Frame(o, healthy, size[0], size[1]), Frame(o, ill, size[0], size[1])
			if a != b {
				t.Errorf("%s, %v: the page tells\n%s\nfrom\n%s", help, size, ansi.Strip(a), ansi.Strip(b))
			}
			text := ansi.Strip(a)
			for what, told := range map[string]bool{"HARNESS": help == scenario.Names, "0% to 100%": help != scenario.None, "Ctrl-C": true} {
				if strings.Contains(text, what) != told {
					t.Errorf("%s, %v: %q is told: %v\n%s", help, size, what, !told, text)
				}
			}
		}
	}
}

// Every control that the map tells of is on the page of the keys, on the least terminal too.
func TestKeysOfEveryControl(t *testing.T) {
	p := twin(t)
	v := running(p)
	v.Paused = true
	for _, size := range frameSizes {
		got := ansi.Strip(Frame(options(p), v, size[0], size[1]))
		for i := range p.Controls {
			if want := strings.ToUpper(p.Controls[i].Key) + " " + p.Controls[i].Name; !strings.Contains(got, want) {
				t.Errorf("%v: no %q", size, want)
			}
		}
	}
}

// PageUp and PageDown change the level and are no presses; what it is now is shown for a moment and then the keys again.
func TestLevelKeys(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		page := showing(t, options(twin(t)), running(twin(t)))
		st := &stage{page: page, strokes: make(chan Stroke, 8), dirty: make(chan struct{}, 1), quiet: make(chan struct{})}
		var asked []bool
		st.level = func(up bool) {
			asked = append(asked, up)
			page.showLevel("Sound level 3 of 10", st.redraw)
		}
		d := decoder{layout: QWERTY}
		d.feed(time.Now(), []byte("\x1b[5~\x1b[6~\x1b[6~\x1b[A"), func(s Stroke) { st.emit(s, nil) })
		if !slices.Equal(asked, []bool{true, false, false}) || len(st.strokes) != 1 {
			t.Errorf("asked for %v, and %d strokes went on", asked, len(st.strokes))
		}
		foot := func() string {
			lines := strings.Split(ansi.Strip(shot(page, 80, 24, false)), "\n")
			return strings.TrimSpace(lines[len(lines)-1])
		}
		if got := foot(); got != "Sound level 3 of 10" {
			t.Errorf("the foot is %q", got)
		}
		time.Sleep(levelFor / 2)
		st.level(true)
		time.Sleep(levelFor/2 + time.Millisecond)
		synctest.Wait()
		if got := foot(); got != "Sound level 3 of 10" {
			t.Errorf("the level was changed a second ago, and the foot is %q", got)
		}
		time.Sleep(levelFor)
		synctest.Wait()
		if got := foot(); !strings.HasPrefix(got, "Enter yes") {
			t.Errorf("after a moment the foot is %q", got)
		}
	})
}

// Whatever a press on a key of the page's own does on the way to the core, the core never hears of the level.
func TestLevelKeysHaveNoPress(t *testing.T) {
	for _, bytes := range []string{"\x1b[5~", "\x1b[6~"} {
		d := decoder{layout: QWERTY}
		d.feed(time.Now(), []byte(bytes), func(s Stroke) {
			if s.Press != (drill.Press{}) || s.Reading() != (drill.Press{}) {
				t.Errorf("%q is a press of %v", bytes, s.Press)
			}
		})
	}
}
