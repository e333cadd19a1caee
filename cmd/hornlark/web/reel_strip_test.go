package web

import (
	"cmp"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"
	"time"

	"hornlark/drill"
	"hornlark/drill/drilltest"
	"hornlark/drill/scenario"
)

// reader reads a strip as a page does.
type reader struct {
	strip  *Strip
	times  []int64
	scenes []Scene // as of each of the words
}

func newReader(t testing.TB, strip *Strip) *reader {
	t.Helper()
	body, err := json.Marshal(strip)
	if err != nil {
		t.Fatal(err)
	}
	r := &reader{strip: new(Strip)}
	if err := json.Unmarshal(body, r.strip); err != nil {
		t.Fatal(err)
	}
	var row int64
	for _, g := range r.strip.Grid {
		row += g[0]
		for i := range g[1] {
			r.times = append(r.times, row+i*stepMS)
		}
	}
	if !slices.IsSorted(r.times) {
		t.Fatal("the moments are not in order")
	}
	for _, w := range r.strip.Words {
		var s Scene
		if err := json.Unmarshal(w.Scene, &s); err != nil {
			t.Fatal(err)
		}
		r.scenes = append(r.scenes, s)
	}
	return r
}

// UnmarshalJSON is for scenes without figures.
func (n *Numbers) UnmarshalJSON([]byte) error { return nil }

// steps is what each of them is at a moment.
func stepsAt(of []Steps, moment int) []int64 {
	var out []int64
	for _, s := range of {
		at, value := 0, int64(0)
		for i := 0; i < len(s); i += 2 {
			if at += int(s[i]); at > moment {
				break
			}
			value = s[i+1]
		}
		out = append(out, value)
	}
	return out
}

func text(of []Steps, moment int) string {
	var out []byte
	for _, v := range stepsAt(of, moment) {
		out = append(out, byte(v))
	}
	return string(out)
}

// needleAt is where a needle is at a moment.
func needleAt(n Needle, moment int) float64 {
	at, grains := 0, int64(0)
	for i := 0; i < len(n.Points); i += 2 {
		next, higher := at+int(n.Points[i]), grains+n.Points[i+1]
		if i > 0 && next > moment {
			return n.Grain * (float64(grains) + float64(higher-grains)*float64(moment-at)/float64(next-at))
		}
		at, grains = next, higher
	}
	return n.Grain * float64(grains)
}

// at is the scene at a time, with the figures of its gauges beside it.
func (r *reader) at(ms int64) (s Scene, figures []float64) {
	moment, found := slices.BinarySearch(r.times, ms)
	if !found {
		moment--
	}
	since := 0
	for i, w := range r.strip.Words {
		if since += w.Since; since > moment {
			break
		}
		s = r.scenes[i]
	}
	if s.At == 0 {
		s.At = ms
	}
	for _, n := range r.strip.Readings {
		figures = append(figures, needleAt(n, moment))
	}
	s.Bands, s.Lit, s.Sounding = text(r.strip.Bands, moment), text(r.strip.Lit, moment), text(r.strip.Sounding, moment)
	s.Locked, s.Facts = text(r.strip.Locked, moment), text(r.strip.Facts, moment)
	s.Readings, s.Positions = nil, nil
	for _, p := range stepsAt(r.strip.Positions, moment) {
		s.Positions = append(s.Positions, int(p))
	}
	for _, u := range r.strip.Said {
		if u.Moment <= moment {
			s.Said = append(s.Said, u.Said)
		}
	}
	s.Said = s.Said[max(0, len(s.Said)-drill.SaidLines):]
	return s, figures
}

// disturbed are the inputs of a sitting with some of an instructor's between them, and pauses, which all that comes after moves with.
func disturbed(rng *rand.Rand, inputs []drill.Stored) []drill.Stored {
	length := inputs[len(inputs)-1].At
	type more struct {
		at, held time.Duration
		what     drill.Event
	}
	var list []more
	for range rng.IntN(5) {
		m := more{at: time.Duration(rng.Int64N(int64(length)))}
		switch rng.IntN(5) {
		case 0:
			m.what, m.held = drill.Press{Key: drill.Hold}, time.Duration(1+rng.Int64N(int64(time.Hour)))
		case 1:
			m.what, m.held = drill.Jumped{By: time.Minute}, time.Duration(1+rng.Int64N(int64(time.Minute)))
		case 2:
			m.what = drill.Instruct{Do: drill.SetBack, What: "cabin"}
		case 3:
			m.what = drill.Instruct{Do: drill.Insert, What: "battery-low"}
		case 4:
			m.what = drill.Instruct{Do: drill.SayOut, What: "Say again."}
		}
		list = append(list, m)
	}
	slices.SortStableFunc(list, func(a, b more) int { return cmp.Compare(a.at, b.at) })
	var out []drill.Stored
	var moved time.Duration
	for _, in := range inputs {
		for len(list) > 0 && list[0].at <= in.At {
			out = append(out, drill.Stored{At: list[0].at + moved, Event: list[0].what})
			if list[0].held > 0 {
				moved += list[0].held
				out = append(out, drill.Stored{At: list[0].at + moved, Event: drill.Press{Key: drill.Hold}})
			}
			list = list[1:]
		}
		out = append(out, drill.Stored{At: in.At + moved, Event: in.Event})
	}
	if rng.IntN(4) == 0 { // it is left while it is held
		n := 1 + rng.IntN(len(out))
		out = append(out[:n:n], drill.Stored{At: out[n-1].At, Event: drill.Press{Key: drill.Hold}})
	}
	return out
}

// What is read from a strip at any time is what a panel shows of the same sitting then: figures within the last one that is shown, and
// everything else exactly. HORNLARK_EVERY tries more of them.
func TestAStripIsTheView(t *testing.T) {
	seeds := uint64(2)
	if os.Getenv("HORNLARK_EVERY") != "" {
		seeds = 50
	}
	moments := 0
	for _, name := range []string{"first-start", "turnstone-alerts", "recall-start", "piston-start-busy"} {
		sat := drilltest.Through(t, name, &scenario.Answers{StartFrom: scenario.Perfect}, nil, nil)
		face := NewFace(sat.Profile, "", scenario.Names)
		for seed := range seeds {
			rng := rand.New(rand.NewPCG(seed, uint64(len(name))))
			inputs := disturbed(rng, drill.InputsOf(sat.Log))
			until := inputs[len(inputs)-1].At + time.Duration(rng.Int64N(int64(20*time.Second)))
			tape, err := Record(sat.Exercise.Begin(sat.Seed, sat.Lead), face, inputs, until, nil)
			if err != nil {
				t.Fatal(err)
			}
			moments += compareTape(t, rng, tape, face, sat.Exercise.Begin(sat.Seed, sat.Lead), inputs)
		}
	}
	t.Logf("%d moments are the same", moments)
}

// compareTape goes through the sitting once more and looks at it and at the strip at times of chance.
func compareTape(t *testing.T, rng *rand.Rand, tape *Tape, face *Face, again *drill.Sitting, inputs []drill.Stored) int {
	t.Helper()
	var times []int64
	for range 300 {
		times = append(times, rng.Int64N(int64(tape.Length/time.Millisecond)+1))
	}
	times = append(times, 0)
	slices.Sort(times)
	strip := newReader(t, tape.Strip)
	var view drill.View
	scene := NewScene(face)
	for _, ms := range times {
		running := time.Duration(ms) * time.Millisecond
		at := tape.clock.When(running)
		for len(inputs) > 0 && inputs[0].At <= at {
			if err := again.Input(inputs[0].At, inputs[0].Event); err != nil {
				t.Fatal(err)
			}
			inputs = inputs[1:]
		}
		if err := again.Advance(at); err != nil {
			t.Fatal(err)
		}
		again.View(&view)
		held := at - running
		if view.Asked != nil && view.Asked.Spoken > 0 {
			asked := *view.Asked
			asked.Spoken -= held
			view.Asked = &asked
		}
		if view.Last.At > 0 {
			view.Last.At = tape.clock.Running(view.Last.At)
		}
		for i := range view.Said {
			view.Said[i].At = tape.clock.Running(view.Said[i].At)
		}
		if view.At -= held; view.At < running && !view.Ended && !view.Paused {
			t.Fatalf("at %v of the sitting its time is %v", running, view.At)
		}
		scene.Fill(&view)
		scene.FillSaid(&view, drill.SaidLines)
		want := *scene
		want.Readings, want.face, want.text = nil, nil, nil
		got, figures := strip.at(ms)
		if wants, gots := string(want.JSON()), string(got.JSON()); wants != gots {
			t.Fatalf("at %d ms the strip has\n%s\nand the sitting\n%s", ms, gots, wants)
		}
		for i, n := range scene.Readings {
			if shown := math.Pow10(-face.Gauges[i].Decimals); math.Abs(figures[i]-n.value) > shown/3 {
				t.Fatalf("at %d ms %s is %g in the strip and %g in the sitting", ms, face.Gauges[i].ID, figures[i], n.value)
			}
		}
	}
	return len(times)
}
