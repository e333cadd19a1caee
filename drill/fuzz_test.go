package drill_test

import (
	"bytes"
	"testing"
	"time"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
	"hornlark/drill/score"
)

// FuzzParsePress: what is taken for a press is written as it was read.
func FuzzParsePress(f *testing.F) {
	for _, seed := range []string{"a", "shift+a", "enter", "shift+enter", "stop", "shift+shift+a", "", "+", "shift+", ";", "é", "ctrl+a"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if p, err := drill.ParsePress(text); err == nil && p.String() != text {
			t.Errorf("%q is written %q", text, p.String())
		}
	})
}

// FuzzDecodeEvent: what is taken for an event is kept as the same.
func FuzzDecodeEvent(f *testing.F) {
	for _, e := range []drill.Event{
		drill.Press{Key: "a", Shift: true, Began: 5}, drill.Heard{Cue: 3, Onset: 60, End: 99}, drill.SoundHealth{Why: "late"}, drill.Stop{Why: "x"}, drill.Instruct{Do: drill.Insert, What: "hot-start"},
		drill.Instruct{Do: drill.Insert, What: "hot-start", When: drill.Moment{Phase: "start"}}, drill.Instruct{Do: drill.SetFuel, To: 1e300}, drill.Instruct{Do: drill.Remark, What: "a\nb\xff", When: drill.Moment{At: 5}},
	} {
		f.Add(drill.EncodeEvent(e))
	}
	f.Add([]byte(`{"press":"shift+shift+a"}`))
	f.Add([]byte(`{"heard":1e300}`))
	f.Fuzz(func(t *testing.T, body []byte) {
		e, err := drill.DecodeEvent(body)
		if err != nil {
			return
		}
		kept := drill.EncodeEvent(e)
		again, err := drill.DecodeEvent(kept)
		if err != nil || !bytes.Equal(drill.EncodeEvent(again), kept) {
			t.Errorf("%s became %s, and that %v, %v", body, kept, again, err)
		}
	})
}

// inputsIn makes inputs of bytes, three to each: how long after the one before it, what, and with what.
func inputsIn(data []byte) (inputs []drill.Stored, until time.Duration) {
	keys := []drill.Key{drill.Yes, drill.No, drill.Quiet, drill.SayAgain, drill.Hold, drill.StopCall}
	for _, row := range aircraft.KeyRows() {
		for _, name := range row.Keys {
			keys = append(keys, drill.Key(name))
		}
	}
	keys = append(keys, "no such key", "shift+a")
	instructions := []drill.Instruction{drill.Insert, drill.Delete, drill.Clear, drill.Freeze, drill.Release, drill.SayOut, drill.SetBack, "", "no such",
		drill.SetWeather, drill.SetFuel, drill.SetPower, drill.SetSound, drill.SetLevel, drill.Remark}
	names := []string{"", "horn", "ice", "blip", "doors", "start", "no such", "oat", "tailwind", drill.On, drill.Off}
	for ; len(data) >= 3; data = data[3:] {
		until += time.Duration(data[0]) * time.Duration(data[0]) * 150 * time.Microsecond
		arg := int(data[2])
		var event drill.Event
		switch data[1] % 8 {
		case 0, 1, 2, 3:
			event = drill.Press{Key: keys[arg%len(keys)], Shift: arg >= 128, Began: until - time.Duration(data[1])*time.Millisecond}
		case 4:
			event = drill.Heard{Cue: arg - 2, Onset: until - time.Duration(data[1]-128)*time.Millisecond, End: until + time.Duration(arg)*time.Millisecond}
		case 5:
			event = drill.SoundHealth{Good: arg%2 == 0, Why: "why"}
		case 6:
			event = drill.Instruct{
				Do: instructions[arg%len(instructions)], What: names[arg/len(instructions)%len(names)], To: float64(data[1]) - 30,
				When: []drill.Moment{{}, {}, {At: until + time.Duration(arg)*time.Second}, {Item: "doors"}, {Phase: "live"}}[data[0]%5],
			}
		case 7:
			if arg == 7 {
				event = drill.Stop{Why: "stop"}
			} else {
				event = drill.Press{Key: drill.Yes}
			}
		}
		inputs = append(inputs, drill.Stored{At: until, Event: event})
	}
	return inputs, until
}

// FuzzReplay: whatever inputs are kept of a sitting, it is gone through, twice the same, to a log without gaps that can be judged.
func FuzzReplay(f *testing.F) {
	lib := deskLibrary(f)
	plans := []plan{planOf(f, lib, "desk-quiet"), planOf(f, lib, "desk-alerts"), planOf(f, lib, "desk-held"), planOf(f, lib, "desk-interrupted-reading")}
	for i := range uint8(4) {
		f.Add(i, []byte{9, 0, 0, 40, 0, 12, 90, 1, 4, 20, 0, 4, 200, 4, 3, 50, 6, 1, 60, 6, 6, 30, 7, 7})
		f.Add(i, []byte{250, 5, 1, 250, 0, 5, 250, 0, 5, 250, 0, 2, 250, 6, 3, 250, 6, 4})
	}
	f.Fuzz(func(t *testing.T, which uint8, data []byte) {
		p := plans[int(which)%len(plans)]
		inputs, until := inputsIn(data[:min(len(data), 300)])
		once := func() []logbook.Entry {
			var log []logbook.Entry
			if err := p.begin().Replay(inputs, until, func(o drill.Output) error {
				_ = o.Describe()
				if l, ok := o.(drill.Log); ok {
					log = append(log, l.Entry)
				}
				return nil
			}); err != nil {
				t.Fatal(err)
			}
			return log
		}
		log, again := once(), once()
		if len(log) != len(again) {
			t.Fatalf("%d entries, and then %d", len(log), len(again))
		}
		var before time.Duration
		for i := range log {
			if log[i] != again[i] || log[i].Seq != i+1 || log[i].At < before {
				t.Fatalf("entry %d: %s, and then %s", i+1, log[i].Describe(), again[i].Describe())
			}
			before = log[i].At
		}
		score.Judge(p.Sheet(p.seed), log)
		drill.InputsOf(log)
	})
}
