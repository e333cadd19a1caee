package desk

import (
	"testing"
	"time"

	"hornlark/audio"
)

// How the sound is is told at first; then the line is wanted for the keys, whatever is heard.
func TestTheKeysComeBack(t *testing.T) {
	sound, err := audio.Open(audio.Options{Silent: true})
	if err != nil {
		t.Fatal(err)
	}
	defer sound.Close()
	l := &Live{clock: MachineClock{}, sound: sound, began: time.Now()}
	silent := audio.Health{Silent: true}
	if got := l.soundNotice(silent); got == "" || got != sound.Notice() {
		t.Errorf("at first it says %q, want %q", got, sound.Notice())
	}
	l.began = time.Now().Add(-time.Minute)
	if got := l.soundNotice(silent); got != "" {
		t.Errorf("after a minute it still says %q", got)
	}
	if got := l.soundNotice(audio.Health{Why: "it stutters"}); got == "" {
		t.Error("that times cannot be relied on is no longer told")
	}
	// A stutter after which more sound is kept ready is told of once, however often it stutters again.
	dry := audio.Health{Why: "it stutters", Buffer: 100 * time.Millisecond}
	l.grownAt = time.Now()
	if got, want := l.soundNotice(dry), "A stutter of the sound: from now on 100 ms of it are kept ready."; got != want {
		t.Errorf("after a stutter it says %q, want %q", got, want)
	}
	l.grownAt = time.Now().Add(-noticeFor)
	if got := l.soundNotice(dry); got != "" {
		t.Errorf("after the second stutter it says %q", got)
	}
}
