package screen

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/ansi"

	"hornlark/cmd/hornlark/walk"
	"hornlark/drill"
)

// listened notes what it is asked for.
type listened struct{ asked []string }

func (l *listened) One(cue int) error {
	l.asked = append(l.asked, "one")
	if cue == 9 {
		return errors.New("it was called off")
	}
	return nil
}
func (l *listened) On(time.Duration) { l.asked = append(l.asked, "on") }
func (l *listened) Quiet()           { l.asked = append(l.asked, "quiet") }
func (l *listened) Err() error       { return nil }

// walked is a walk of eight moments a second apart.
func walked(t testing.TB) (*walkPage, *listened) {
	p := twin(t)
	var moments []walk.Moment
	for i, m := range []walk.Moment{
		{Kind: walk.Phase, Text: "INTERIOR CHECKS"},
		{Kind: walk.Asked, Text: `asked: "Battery"`, Cue: 1},
		{Text: "key 1: BATTERY on"},
		{Text: "done: Battery, after 6.00 s, late", Slip: true},
		{Kind: walk.Abnormal, Text: "ABNORMAL hot-start#1 begins to show"},
		{Text: "sounds: low rotor horn", Cue: 9},
		{Kind: walk.Over, Text: "hot-start#1 is handled"},
		{Kind: walk.Asked, Text: `asked: "Radio"`, Cue: 3},
	} {
		m.At, m.View = time.Duration(i)*time.Second, *running(p)
		moments = append(moments, m)
	}
	sound := &listened{}
	return &walkPage{sitting: newSitting(options(p)), walk: Walk{Moments: moments, Sound: sound}, title: "First start at Skerry Sound"}, sound
}

func TestWalkScreens(t *testing.T) {
	page, _ := walked(t)
	page.at = 3
	for name, size := range map[string][2]int{"walk-80x24": {80, 24}, "walk-140x45": {140, 45}} {
		golden(t, name, ansi.Strip(shot(page, size[0], size[1], false)))
	}
}

// Whatever the size, the moment that is looked at is on the screen, and the keys are.
func TestWalkFits(t *testing.T) {
	page, _ := walked(t)
	for page.at = range page.walk.Moments {
		for _, size := range [][2]int{{80, 24}, {80, 60}, {100, 30}, {131, 24}, {132, 30}, {140, 45}, {200, 70}} {
			text := ansi.Strip(shot(page, size[0], size[1], false))
			if want := page.walk.Moments[page.at].Text; !strings.Contains(text, want) || !strings.Contains(text, "q leave") {
				t.Errorf("%v: %q, or the keys, are not on the screen\n%s", size, want, text)
			}
		}
	}
}

// The caution is there at every size, uncut, and no note takes its place.
func TestWalkIsCautious(t *testing.T) {
	page, _ := walked(t)
	for _, page.note = range []string{"", "Nothing was heard then."} {
		for _, size := range [][2]int{{80, 24}, {100, 30}, {200, 70}} {
			if text := ansi.Strip(shot(page, size[0], size[1], false)); !strings.Contains(text, strings.TrimSpace(walkCaution)) {
				t.Errorf("%v, note %q: it is not there:\n%s", size, page.note, text)
			}
		}
	}
}

// The keys go to the moments that they say, and stay where there is none.
func TestWalkKeys(t *testing.T) {
	page, _ := walked(t)
	for _, step := range []struct {
		to   move
		want int
	}{
		{moveUp, 0}, {moveDown, 1}, {moveRight, 7}, {moveRight, 7}, {moveLeft, 1}, {moveLeft, 0}, {moveLeft, 0}, {movePageDown, 3},
		{movePageDown, 4}, {movePageDown, 4}, {movePageUp, 3}, {movePageUp, 3}, {moveBottom, 7}, {moveDown, 7}, {moveTop, 0},
	} {
		page.stroke(Stroke{Kind: Other, move: step.to}, time.Time{})
		if page.at != step.want {
			t.Errorf("move %d goes to moment %d, want %d", step.to, page.at, step.want)
		}
	}
}

// What was heard is heard again for the asking; where nothing was, or it cannot be, the screen says so. Any key stops it.
func TestWalkIsHeard(t *testing.T) {
	page, sound := walked(t)
	press := func(key drill.Key, at time.Time) { page.stroke(Stroke{Press: drill.Press{Key: key}}, at) }
	said := func(want string) {
		t.Helper()
		if got := strings.Join(sound.asked, " "); got != want {
			t.Errorf("asked for %q, want %q", got, want)
		}
		sound.asked = nil
	}
	press(drill.Quiet, time.Time{})
	said("quiet")
	if !strings.Contains(page.note, "Nothing") {
		t.Errorf("it says %q", page.note)
	}
	page.at = 5
	press(drill.Quiet, time.Time{})
	said("quiet one")
	if page.note != "it was called off" {
		t.Errorf("it says %q", page.note)
	}
	page.at = 1
	began := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	press(drill.Yes, began)
	said("quiet on")
	for _, step := range []struct {
		after time.Duration
		want  int
	}{{500 * time.Millisecond, 1}, {time.Second, 2}, {3200 * time.Millisecond, 4}} {
		page.follow(began.Add(step.after))
		if page.at != step.want {
			t.Errorf("after %v it is at moment %d, want %d", step.after, page.at, step.want)
		}
	}
	press(drill.Yes, began.Add(4*time.Second))
	said("quiet")
	if page.playing || page.follow(began.Add(time.Minute)) {
		t.Error("it plays on")
	}
	press(drill.Yes, began)
	page.follow(began.Add(time.Minute))
	if page.playing || page.at != 7 {
		t.Errorf("at the end it is at moment %d, playing %v", page.at, page.playing)
	}
}
