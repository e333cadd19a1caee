package desk

import (
	"context"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"hornlark/audio"
	"hornlark/audio/voice"
	"hornlark/drill"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/record"
	"hornlark/drill/scenario"
)

// hover makes ready a sitting of half a minute, in which the rotor slows, with a fixed seed.
func hover(t *testing.T) *Exercise {
	t.Helper()
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	if lib, err = lib.With(filepath.Join("..", "testdata", "short")); err != nil {
		t.Fatal(err)
	}
	bundle, err := lib.Resolve("short-hover")
	if err != nil {
		t.Fatal(err)
	}
	ex, err := NewExercise(bundle, "", 7)
	if err != nil {
		t.Fatal(err)
	}
	return ex
}

// sleeper is a machine that has slept for as long as a test says.
type sleeper struct {
	MachineClock
	slept atomic.Int64
}

func (s *sleeper) Asleep() time.Duration { return time.Duration(s.slept.Load()) }

// noticed is somebody who looks on and writes down what there was to be seen.
type noticed struct {
	at      []time.Duration
	paused  []bool
	notices []string
}

func (n *noticed) Update(v *drill.View) {
	n.at, n.paused = append(n.at, v.At), append(n.paused, v.Paused)
}
func (n *noticed) Notice(text string) { n.notices = append(n.notices, text) }
func (n *noticed) Silent(bool)        {}

// sit takes an exercise through, live, in the bubble of a test: by the real driver, on the real output without a device, and into real
// records, whose copy it gives back.
func sit(ctx context.Context, t *testing.T, ex *Exercise, clock Clock, around Around) (*Live, *Kept) {
	t.Helper()
	out, err := audio.Open(audio.Options{Silent: true})
	if err != nil {
		t.Fatal(err)
	}
	defer out.Close()
	voices, err := voice.Open(voice.Options{Engine: "none"})
	if err != nil {
		t.Fatal(err)
	}
	l, err := Ready(ctx, ex, Means{Clock: clock, Sound: out, Voices: voices, Silent: true, Mute: true}, nil)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "hornlark.db")
	store, err := record.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	keep := &Keeper{store: store}
	about := func(began time.Time) record.Sitting {
		s := ex.Record()
		s.Started, s.Version = began, "test"
		return s
	}
	if err := l.Begin(keep, about); err != nil {
		t.Fatal(err)
	}
	if err := l.Drive(ctx, around); err != nil {
		t.Fatal(err)
	}
	if err := keep.End(ex, ex.Judge()); err != nil {
		t.Fatal(err)
	}
	if store, err = record.Open(path); err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	found, err := store.Sittings(record.Filter{})
	if err != nil || len(found) != 1 {
		t.Fatal(found, err)
	}
	kept, err := Load(store, found[0])
	if err != nil {
		t.Fatal(err)
	}
	return l, kept
}

// same fails if a kept sitting does not come to the same when it is gone through again.
func same(t *testing.T, k *Kept) {
	t.Helper()
	again, err := k.Again()
	if err != nil {
		t.Fatal(err)
	}
	if c := k.CompareLog(again.Log); c.Skipped || c.Differs() || c.Same == 0 {
		t.Errorf("the log differs at entry %d, %s: %v, %v", c.Same+1, c.Where, c.Kept, c.Again)
	}
	if c, err := k.CompareScore(again.Log); err != nil || c.None || c.Difference != nil {
		t.Errorf("the score differs: %+v, %v", c, err)
	}
}

// A live sitting whose answers are played passes, is kept as it went, and comes to the same when it is gone through again.
func TestALiveSittingComesToTheSameAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ex := hover(t)
		ex.Answers = &scenario.Answers{StartFrom: scenario.Perfect}
		l, kept := sit(t.Context(), t, ex, MachineClock{}, Around{})
		if result := ex.Judge(); l.Why() != nil || !result.Passed || kept.State != record.Complete {
			t.Errorf("%v; %+v, %s", l.Why(), result.Criteria, kept.State)
		}
		if !slices.Equal(kept.Ex.Log, ex.Log) {
			t.Error("what was kept is not what was logged")
		}
		same(t, kept)
	})
}

// A trainee at one place and an instructor at another take part in one sitting, and two look on: each act is logged with its seat, at its
// own time, and both are shown the same.
func TestSeveralTakePart(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		inputs := make(chan Input, InputsHeld)
		one, other := &noticed{}, &noticed{}
		began := time.Now()
		go func() { // the instructor
			time.Sleep(2 * time.Second)
			inputs <- Input{At: time.Now(), Event: drill.Instruct{Do: drill.Freeze}}
			time.Sleep(3 * time.Second)
			inputs <- Input{At: time.Now(), Event: drill.Instruct{Do: drill.Release}}
		}()
		go func() { // the trainee, from a page whose clock is known to 8 ms, which tells of a press a moment later
			time.Sleep(7 * time.Second)
			pressed := time.Now()
			time.Sleep(5 * time.Millisecond)
			inputs <- Input{At: pressed, Uncertainty: 8 * time.Millisecond, Event: drill.Press{Key: drill.Yes}, Reading: drill.Press{Key: drill.No}}
			inputs <- Input{At: time.Now(), Event: drill.Press{}} // a key that is nothing
			inputs <- Input{At: time.Now()}                       // and what is no key
			time.Sleep(time.Second)
			inputs <- Input{At: time.Now(), Deed: Suspends}
			time.Sleep(time.Second)
			inputs <- Input{At: time.Now(), Event: drill.Press{Key: drill.Hold}}
			time.Sleep(time.Second)
			inputs <- Input{At: time.Now(), Deed: Leaves}
		}()
		l, kept := sit(t.Context(), t, hover(t), MachineClock{}, Around{Inputs: inputs, Watchers: []Watcher{one, other}})
		if l.Why() != EndedEarly || l.Uncertainty() != 8*time.Millisecond || kept.State != record.Stopped {
			t.Errorf("%v, %v, %s", l.Why(), l.Uncertainty(), kept.State)
		}
		before := began.Sub(l.began)
		want := []struct {
			at   time.Duration
			kind logbook.Kind
			seat logbook.Seat
		}{
			{before + 2*time.Second, logbook.Paused, logbook.Instructor}, {before + 5*time.Second, logbook.Unpaused, logbook.Instructor},
			{before + 7*time.Second, logbook.Press, logbook.Trainee},
			{before + 8005*time.Millisecond, logbook.Paused, logbook.Trainee}, {before + 9005*time.Millisecond, logbook.Unpaused, logbook.Trainee},
		}
		var clock logbook.Clock
		for i := range kept.Ex.Log {
			e := &kept.Ex.Log[i]
			at := clock.Follow(e)
			if e.Kind == logbook.Press && e.Seat == logbook.Trainee && e.Length != 8*time.Millisecond {
				t.Errorf("that a press may be off by 8 ms is kept as %v", e.Length)
			}
			if e.Kind != logbook.Press && e.Kind != logbook.Paused && e.Kind != logbook.Unpaused {
				continue
			}
			if len(want) == 0 || e.Kind != want[0].kind || e.Seat != want[0].seat || at != want[0].at {
				t.Fatalf("%s at %v, wanted %v", e.Describe(), at, want)
			}
			want = want[1:]
		}
		if len(want) > 0 {
			t.Errorf("missing: %v", want)
		}
		if !slices.Equal(one.at, other.at) || !slices.Equal(one.paused, other.paused) || len(one.at) < 50 || !slices.Contains(one.paused, true) {
			t.Errorf("one was shown %d views, and the other %d", len(one.at), len(other.at))
		}
		same(t, kept)
	})
}

// All that an instructor may do to a live sitting is kept with it, and it comes to the same when it is gone through again, from its inputs and
// score alike. Who looks on is told that the sound has been turned off.
func TestALiveSittingWithAnInstructorComesToTheSameAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ex := hover(t)
		ex.Answers = &scenario.Answers{StartFrom: scenario.Perfect, Acts: []scenario.Act{{At: 1300 * time.Millisecond, Do: "remark", What: "By the answers."}}}
		inputs := make(chan Input, InputsHeld)
		acts := []drill.Instruct{
			{Do: drill.Insert, What: "low-rotor-hover", When: drill.Moment{At: 25 * time.Second}},
			{Do: drill.SetWeather, What: "oat", To: 33}, {Do: drill.SetFuel, To: 150}, {Do: drill.SetFuel, To: -1}, {Do: drill.SetPower, What: drill.Off},
			{Do: drill.SetSound, What: drill.Off}, {Do: drill.SetLevel, To: -9}, {Do: drill.Remark, What: "Hands on the lever."}, {Do: drill.SetSound, What: drill.On},
			{Do: drill.SayOut, What: "Take your time."}, {Do: drill.Freeze}, {Do: drill.Remark, What: "Held."}, {Do: drill.Release}, {Do: drill.Clear}, {Do: "no such thing"},
		}
		go func() {
			for _, act := range acts {
				time.Sleep(600 * time.Millisecond)
				inputs <- Input{At: time.Now(), Event: act}
			}
		}()
		watcher := &noticed{}
		_, kept := sit(t.Context(), t, ex, MachineClock{}, Around{Inputs: inputs, Watchers: []Watcher{watcher}})
		result := ex.Judge()
		if len(result.Instructed) != 9 || len(result.Remarks) != 3 || result.Remarks[0].AtMS != 1300 || result.Instructed[len(result.Instructed)-1].Do != "freeze" {
			t.Errorf("%+v, %+v", result.Instructed, result.Remarks)
		}
		if i := slices.Index(watcher.notices, turnedOff(false)); i < 0 || !slices.Contains(watcher.notices[i:], "") {
			t.Errorf("that the sound was off, and on again, was told as %q", watcher.notices)
		}
		if !slices.Equal(kept.Ex.Log, ex.Log) {
			t.Error("what was kept is not what was logged")
		}
		same(t, kept)
	})
}

// A press that was on its way while the sitting went on is taken as it arrives, and timed from its own moment.
func TestAPressThatCameLate(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		inputs := make(chan Input, InputsHeld)
		began := time.Now()
		go func() {
			time.Sleep(3*time.Second + 7*time.Millisecond)
			pressed := time.Now()
			time.Sleep(45 * time.Millisecond) // two steps of the aircraft
			inputs <- Input{At: pressed, Uncertainty: 3 * time.Millisecond, Event: drill.Press{Key: drill.Quiet}}
			time.Sleep(time.Second)
			inputs <- Input{At: time.Now(), Event: drill.Press{Key: drill.Quiet}}
			time.Sleep(time.Second)
			inputs <- Input{At: time.Now(), Deed: Leaves}
		}()
		l, kept := sit(t.Context(), t, hover(t), MachineClock{}, Around{Inputs: inputs})
		before := began.Sub(l.began)
		var presses []logbook.Entry
		for _, e := range kept.Ex.Log {
			if e.Kind == logbook.Press {
				presses = append(presses, e)
			}
		}
		if len(presses) != 2 {
			t.Fatalf("presses: %v", presses)
		}
		late, atOnce := presses[0], presses[1]
		if late.When() != before+3007*time.Millisecond || late.At <= late.When() || late.At > before+3052*time.Millisecond || late.Length != 3*time.Millisecond {
			t.Errorf("the late one is %s", late.Describe())
		}
		if atOnce.When() != before+4052*time.Millisecond || atOnce.Began != 0 || atOnce.Length != 0 {
			t.Errorf("the other one is %s", atOnce.Describe())
		}
		same(t, kept)
	})
}

// paced is somebody who looks on at a pace of their own.
type paced struct {
	noticed
	every time.Duration
}

func (p *paced) Pace() time.Duration { return p.every }

// Each who looks on is shown views at their own pace, and what comes out of the sitting at once.
func TestEachAtTheirOwnPace(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		quick, slow, usual := &paced{every: 15 * time.Millisecond}, &paced{every: time.Second}, &noticed{}
		inputs := make(chan Input, InputsHeld)
		go func() {
			time.Sleep(4 * time.Second)
			inputs <- Input{At: time.Now(), Deed: Leaves}
		}()
		sit(t.Context(), t, hover(t), MachineClock{}, Around{Inputs: inputs, Watchers: []Watcher{quick, slow, usual}})
		for _, c := range []struct {
			what        string
			n, from, to int
		}{{"quick", len(quick.at), 190, 240}, {"usual", len(usual.at), 38, 70}, {"slow", len(slow.at), 4, 36}} {
			if c.n < c.from || c.n > c.to {
				t.Errorf("the %s one was shown %d views in 4 s", c.what, c.n)
			}
		}
		for _, at := range slow.at { // each of them is a moment that all were shown, or one of the slow one's own
			if !slices.Contains(quick.at, at) {
				t.Errorf("at %v the slow one was shown what the quick one was not", at)
			}
		}
	})
}

// While answers are played, the keys of whoever sits there only hold the sitting and let it go on.
func TestAnswersThatArePlayedTakeTheKeys(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		inputs := make(chan Input, InputsHeld)
		go func() {
			for range 4 {
				time.Sleep(time.Second)
				inputs <- Input{At: time.Now(), Event: drill.Press{Key: drill.No}}
			}
			inputs <- Input{At: time.Now(), Event: drill.Press{Key: drill.Hold}}
			time.Sleep(time.Second)
			inputs <- Input{At: time.Now(), Event: drill.Press{Key: drill.Hold}}
		}()
		ex := hover(t)
		ex.Answers = &scenario.Answers{StartFrom: scenario.Perfect}
		_, kept := sit(t.Context(), t, ex, MachineClock{}, Around{Inputs: inputs})
		held := slices.ContainsFunc(ex.Log, func(e logbook.Entry) bool { return e.Kind == logbook.Paused })
		if !ex.Judge().Passed || !held {
			t.Errorf("%+v, held: %v", ex.Judge().Criteria, held)
		}
		same(t, kept)
	})
}

// A machine that has slept holds the sitting as of the moment before, says so, drops what is read just then, and goes on when it is told to.
func TestASittingIsHeldWhereTheMachineSlept(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		clock := &sleeper{}
		inputs := make(chan Input, InputsHeld)
		watcher := &noticed{}
		go func() {
			time.Sleep(3 * time.Second)
			clock.slept.Store(int64(time.Hour))
			time.Sleep(200 * time.Millisecond) // it has been noticed within one view, and what was typed meanwhile is read
			inputs <- Input{At: time.Now(), Event: drill.Press{Key: drill.Hold}}
			time.Sleep(2 * time.Second)
			inputs <- Input{At: time.Now(), Event: drill.Press{Key: drill.Hold}}
			time.Sleep(2 * time.Second)
			inputs <- Input{At: time.Now(), Deed: Leaves}
		}()
		_, kept := sit(t.Context(), t, hover(t), clock, Around{Inputs: inputs, Watchers: []Watcher{watcher}})
		var went []logbook.Entry
		for _, e := range kept.Ex.Log {
			if e.Kind == logbook.Paused || e.Kind == logbook.Unpaused {
				went = append(went, e)
			}
		}
		if len(went) != 2 || went[0].Why != logbook.Jumped || went[1].Kind != logbook.Unpaused {
			t.Fatalf("it was held and went on like this: %v", went)
		}
		if length := went[1].Length; length < 1900*time.Millisecond || length > 2400*time.Millisecond {
			t.Errorf("it was held for %v", length)
		}
		if told := slices.ContainsFunc(watcher.notices, func(s string) bool { return strings.HasPrefix(s, "The clock jumped by 3600 s") }); !told {
			t.Errorf("it was told %q", watcher.notices)
		}
		same(t, kept)
	})
}

// The end of a context ends the sitting, which says so in its log; before it has begun there is none.
func TestASittingEndsWithItsContext(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), 4*time.Second)
		defer cancel()
		l, kept := sit(ctx, t, hover(t), MachineClock{}, Around{})
		last := kept.Ex.Log[len(kept.Ex.Log)-1]
		if l.Why() != EndedEarly || kept.State != record.Stopped || last.Kind != logbook.End || last.OK {
			t.Errorf("%v, %s, %s", l.Why(), kept.State, last.Describe())
		}
		same(t, kept)
	})
	synctest.Test(t, func(t *testing.T) {
		never := make(chan struct{})
		p := Open(func() (*audio.Output, error) { <-never; return audio.Open(audio.Options{Silent: true}) },
			func() (*voice.Library, error) { return voice.Open(voice.Options{Engine: "none"}) })
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		if err := p.Wait(ctx); err != NotBegun {
			t.Error(err)
		}
		closed := false
		if err := p.Close(func(err error) error { closed = true; return err }); err != nil || closed {
			t.Errorf("%v; what is not open yet was waited for: %v", err, closed)
		}
		close(never)
		synctest.Wait()
		time.Sleep(time.Second)
		if !closed {
			t.Error("it was left open")
		}
	})
}
