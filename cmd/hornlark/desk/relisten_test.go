package desk

import (
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"hornlark/audio"
	"hornlark/audio/voice"
	"hornlark/drill"
)

// noted is a player that notes what it is asked for.
type noted struct {
	mu     sync.Mutex
	asked  []string
	enough chan struct{} // gets one for each cue
}

func (n *noted) Play(c audio.Cue) error {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.asked = append(n.asked, fmt.Sprintf("play %d at %v, on %v", c.ID, c.Due, c.Loop))
	n.enough <- struct{}{}
	return nil
}

func (n *noted) Stop(id int, due time.Duration) {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.asked = append(n.asked, fmt.Sprintf("stop %d at %v", id, due))
}

func (n *noted) said() []string {
	n.mu.Lock()
	defer n.mu.Unlock()
	said := n.asked
	n.asked = nil
	return said
}

// A sitting is played on from a moment: what sounded then sounds at once, and is stopped when it was, and what came later comes
// as much later; what was over is not heard. One cue alone is only that cue, and a sound that would go on is stopped.
func TestRelistening(t *testing.T) {
	voices, err := voice.Open(voice.Options{})
	if err != nil {
		t.Fatal(err)
	}
	tone := func(id int, loop bool) drill.Sound { return drill.Sound{Cue: id, Tone: "low-nr", Loop: loop} }
	heard := []Sounded{
		{Cue: 11, At: 5200 * time.Millisecond, Output: tone(11, false)},
		{Cue: 12, At: time.Second, Until: 6 * time.Second, Output: tone(12, true)},
		{Cue: 13, At: 2 * time.Second, Until: 3 * time.Second, Output: tone(13, true)},
		{Cue: 14, At: 4 * time.Second, Output: tone(14, false)},
		{Cue: 15, At: 5100 * time.Millisecond, Until: 5150 * time.Millisecond, Output: tone(15, true)},
	}
	player := &noted{enough: make(chan struct{}, 10)}
	again := NewRelistener(&Sounder{Player: player, Voices: voices}, func() time.Duration { return 100 * time.Second }, heard)

	again.On(5 * time.Second)
	for range 3 {
		<-player.enough
	}
	again.Quiet()
	want := []string{
		"play 1 at 1m40s, on true", "stop 1 at 1m41s",
		"play 2 at 1m40.1s, on true", "stop 2 at 1m40.15s",
		"play 3 at 1m40.2s, on false",
		"stop 1 at 1m40s", "stop 2 at 1m40s", "stop 3 at 1m40s",
	}
	if got := player.said(); !slices.Equal(got, want) {
		t.Errorf("played on: %q\nwant %q", got, want)
	}

	if err := again.One(12); err != nil {
		t.Fatal(err)
	}
	again.Quiet()
	want = []string{"play 4 at 1m40s, on true", "stop 4 at 1m42s", "stop 4 at 1m40s"}
	if got := player.said(); !slices.Equal(got, want) {
		t.Errorf("one alone: %q, want %q", got, want)
	}
	if err := again.One(99); err == nil {
		t.Error("a cue that was called off is heard")
	}
	if err := again.Err(); err != nil {
		t.Error(err)
	}
}
