package logbook

import (
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// Every kind of version 1, as it was written, and what it says now.
func TestConvertVersion1(t *testing.T) {
	const ms = time.Millisecond
	for _, c := range []struct {
		body string // without seq and at
		want Entry
	}{
		{`"kind":"begin","name":"recall","text":"first-start","value":7`, Entry{Kind: Begin, Name: "recall", Text: "first-start", Seed: 7, Number: 2}},
		{`"kind":"begin","name":"recall","text":"s","value":9007199254740991`, Entry{Kind: Begin, Name: "recall", Text: "s", Seed: 1<<53 - 1, Number: 2}},
		{`"kind":"begin","name":"recall","text":"s","value":18446744073709552000`, Entry{Kind: Begin, Name: "recall", Text: "s", Number: 2}},
		{`"kind":"phase","name":"start","text":"Engine start"`, Entry{Kind: Phase, Name: "start", Text: "Engine start"}},
		{`"kind":"ask","item":"b","cue":3,"name":"set","text":"Battery"`, Entry{Kind: Ask, Seat: Partner, Item: "b", Cue: 3, Name: "set", Text: "Battery"}},
		{`"kind":"ask","item":"b","name":"set","text":"Battery"`, Entry{Kind: Ask, Item: "b", Name: "set", Text: "Battery"}},
		{`"kind":"ask-again","item":"b","cue":4,"name":"wanted","text":"Battery"`, Entry{Kind: AskAgain, Item: "b", Cue: 4, Why: Wanted, Text: "Battery"}},
		{`"kind":"ask-again","item":"b","cue":4,"name":"anew","text":"Battery"`, Entry{Kind: AskAgain, Item: "b", Cue: 4, Why: Anew, Text: "Battery"}},
		{`"kind":"ask-again","item":"b","cue":4,"text":"Battery"`, Entry{Kind: AskAgain, Item: "b", Cue: 4, Why: Unanswered, Text: "Battery"}},
		{`"kind":"press","key":"shift+a"`, Entry{Kind: Press, Seat: Trainee, Key: "shift+a"}},
		{`"kind":"moved","control":"bat","position":"on"`, Entry{Kind: Moved, Seat: Trainee, Control: "bat", Position: "on"}},
		{`"kind":"moved","control":"start","position":"off","name":"spring"`, Entry{Kind: Moved, Why: Sprang, Control: "start", Position: "off"}},
		{`"kind":"moved","control":"bat","position":"on","name":"crew"`, Entry{Kind: Moved, Seat: Pilot, Control: "bat", Position: "on"}},
		{`"kind":"answer","item":"i","text":"yes","name":"no"`, Entry{Kind: Answer, Seat: Trainee, Item: "i", Text: "yes", Truth: "no"}},
		{`"kind":"answer","item":"i","text":"85","name":"84.5"`, Entry{Kind: Answer, Seat: Trainee, Item: "i", Text: "85", Truth: "84.5", Value: 84.5}},
		{`"kind":"answer","item":"i","text":"1.25s","name":"passing","onset":3750000000`, Entry{Kind: Answer, Seat: Trainee, Item: "i", Why: Passing, Onset: 3750 * ms, Length: 1250 * ms}},
		{`"kind":"answer","item":"i","text":"-300ms","name":"passing","onset":5000000000`, Entry{Kind: Answer, Seat: Trainee, Item: "i", Why: Passing, Onset: 5000 * ms, Length: -300 * ms, Began: 4700 * ms}},
		{`"kind":"done","item":"i","ok":true`, Entry{Kind: Done, Seat: Trainee, Item: "i", OK: true}},
		{`"kind":"done","item":"i"`, Entry{Kind: Done, Seat: Trainee, Item: "i"}},
		{`"kind":"crew","item":"i"`, Entry{Kind: Done, Seat: Pilot, Item: "i", OK: true}},
		{`"kind":"undone","item":"i"`, Entry{Kind: Undone, Item: "i"}},
		{`"kind":"overshoot","item":"i","control":"c","position":"p"`, Entry{Kind: Overshoot, Item: "i", Control: "c", Position: "p"}},
		{`"kind":"stray","key":"k","control":"c","position":"p"`, Entry{Kind: Stray, Seat: Trainee, Key: "k", Control: "c", Position: "p"}},
		{`"kind":"again","item":"i"`, Entry{Kind: Again, Item: "i"}},
		{`"kind":"timed-out","item":"i"`, Entry{Kind: TimedOut, Item: "i"}},
		{`"kind":"fixed","item":"i","ok":true`, Entry{Kind: Fixed, Item: "i", OK: true}},
		{`"kind":"skip","item":"i"`, Entry{Kind: Skip, Item: "i"}},
		{`"kind":"reopen","item":"i"`, Entry{Kind: Reopen, Item: "i"}},
		{`"kind":"cue","cue":1,"name":"speech","text":"Battery","onset":5060000000,"ok":true`, Entry{Kind: Cue, Cue: 1, Class: Speech, Text: "Battery", Onset: 5060 * ms, OK: true}},
		{`"kind":"cue","cue":1,"name":"echo","text":"On","onset":5060000000,"ok":true`, Entry{Kind: Cue, Cue: 1, Class: Echo, Text: "On", Onset: 5060 * ms, OK: true}},
		{`"kind":"cue","cue":1,"name":"horn","text":"low_nr","onset":5060000000`, Entry{Kind: Cue, Cue: 1, Class: Horn, Name: "low_nr", Onset: 5060 * ms}},
		{`"kind":"cue","cue":1,"name":"caption","text":"fire1","onset":5000000000`, Entry{Kind: Cue, Cue: 1, Class: Caption, Name: "fire1", Onset: 5000 * ms}},
		{`"kind":"cue","cue":1,"name":"outside","text":"smoke","onset":5000000000`, Entry{Kind: Cue, Cue: 1, Class: Sight, Name: "smoke", Onset: 5000 * ms}},
		{`"kind":"cue","cue":1,"name":"gauge","text":"tot1 red","onset":5000000000`, Entry{Kind: Cue, Cue: 1, Class: Gauge, Name: "tot1", Text: "red", Onset: 5000 * ms}},
		{`"kind":"cue","cue":1,"name":"gauge","text":"call-n1","onset":5000000000,"ok":true`, Entry{Kind: Cue, Cue: 1, Class: Gauge, Text: "call-n1", Onset: 5000 * ms, OK: true}},
		{`"kind":"cue","cue":1,"name":"test","text":"gen1","onset":5000000000`, Entry{Kind: Cue, Cue: 1, Class: Missing, Name: "gen1", Onset: 5000 * ms}},
		{`"kind":"heard","cue":1,"onset":1060000000,"until":1999499001`, Entry{Kind: Heard, Cue: 1, Onset: 1060 * ms, Until: 1999499001}},
		{`"kind":"heard","cue":1,"onset":1060000000,"name":"assumed"`, Entry{Kind: Heard, Cue: 1, Onset: 1060 * ms, Why: Assumed}},
		{`"kind":"cue-end","cue":1,"name":"caption","text":"fire1"`, Entry{Kind: CueEnd, Cue: 1, Class: Caption, Name: "fire1"}},
		{`"kind":"cue-end","cue":1,"name":"speech"`, Entry{Kind: CueEnd, Cue: 1, Class: Speech}},
		{`"kind":"silence","text":"low_nr"`, Entry{Kind: Silence, Seat: Trainee, Name: "low_nr", OK: true}},
		{`"kind":"silence","text":"nothing"`, Entry{Kind: Silence, Seat: Trainee}},
		{`"kind":"answer","item":"i","text":"no","name":"no"`, Entry{Kind: Answer, Seat: Trainee, Item: "i", Text: "no", Truth: "no", OK: true}},
		{`"kind":"inject","abnormal":"hot-start#1","name":"hot-start"`, Entry{Kind: Inject, Injection: "hot-start#1", Abnormal: "hot-start"}},
		{`"kind":"inject","abnormal":"radio#1","name":"radio","ok":true`, Entry{Kind: Inject, Injection: "radio#1", Abnormal: "radio", OK: true}},
		{`"kind":"onset","abnormal":"hot-start#1","name":"gauge","cue":9`, Entry{Kind: Onset, Injection: "hot-start#1", Class: Gauge, Cue: 9}},
		{`"kind":"action","abnormal":"hot-start#1","value":2,"text":"Fuel off"`, Entry{Kind: Action, Injection: "hot-start#1", Number: 2, Text: "Fuel off"}},
		{`"kind":"action","abnormal":"hot-start#1","value":2,"name":"already","text":"Fuel off"`, Entry{Kind: Action, Injection: "hot-start#1", Number: 2, Why: Already, Text: "Fuel off"}},
		{`"kind":"worse","abnormal":"hot-start#1","control":"c","position":"p","text":"More fuel"`, Entry{Kind: Worse, Injection: "hot-start#1", Control: "c", Position: "p", Text: "More fuel"}},
		{`"kind":"handled","abnormal":"hot-start#1","item":"i","text":"the fuel was off in time"`, Entry{Kind: Handled, Injection: "hot-start#1", Item: "i"}},
		{`"kind":"lost","abnormal":"hot-start#1","item":"i","name":"time","text":"the engine is gone"`, Entry{Kind: Lost, Injection: "hot-start#1", Item: "i", Why: Timeout}},
		{`"kind":"lost","abnormal":"hot-start#1","name":"unseen","text":"it never showed itself"`, Entry{Kind: Lost, Injection: "hot-start#1", Why: Unseen}},
		{`"kind":"lost","abnormal":"hot-start#1","item":"i","text":"the engine is gone"`, Entry{Kind: Lost, Injection: "hot-start#1", Item: "i"}},
		{`"kind":"resumed","item":"i","name":"right","value":1.25`, Entry{Kind: Resumed, Item: "i", Why: AtPlace, Length: 1250 * ms}},
		{`"kind":"resumed","item":"i","name":"wrong"`, Entry{Kind: Resumed, Item: "i", Why: Elsewhere}},
		{`"kind":"resumed","item":"i","name":"twice","value":0.02`, Entry{Kind: Resumed, Item: "i", Why: Twice, Length: 20 * ms}},
		{`"kind":"prompted","item":"i"`, Entry{Kind: Prompted, Item: "i"}},
		{`"kind":"paused"`, Entry{Kind: Paused, Seat: Trainee}},
		{`"kind":"unpaused","value":2.000000001`, Entry{Kind: Unpaused, Seat: Trainee, Length: 2000*ms + 1}},
		{`"kind":"peak","name":"tot1","value":812.5,"text":"highest"`, Entry{Kind: Peak, Name: "tot1", Class: Highest, Value: 812.5}},
		{`"kind":"peak","name":"tot1","text":"lowest"`, Entry{Kind: Peak, Name: "tot1", Class: Lowest}},
		{`"kind":"exceeded","name":"tot1","value":0.06`, Entry{Kind: Exceeded, Name: "tot1", Length: 60 * ms}},
		{`"kind":"end","text":"complete","ok":true`, Entry{Kind: End, Text: "complete", Why: Complete, OK: true}},
		{`"kind":"end","text":"stopped by the trainee"`, Entry{Kind: End, Text: "stopped by the trainee", Why: Outside}},
		{`"kind":"end","text":"a sitting may last three hours at the most"`, Entry{Kind: End, Text: "a sitting may last three hours at the most", Why: TooLong}},
		{`"kind":"sound-bad","text":"it stutters"`, Entry{Kind: SoundBad, Text: "it stutters"}},
		{`"kind":"sound-good"`, Entry{Kind: SoundGood}},
	} {
		got, err := Convert(1, []byte(`{"seq":3,"at":5000000000,`+c.body+`}`))
		c.want.Seq, c.want.At = 3, 5*time.Second
		if err != nil || got != c.want {
			t.Errorf("%s\n%+v, %v; wanted\n%+v", c.body, got, err, c.want)
		}
		if err := got.known(); err != nil {
			t.Errorf("%s: %v", c.body, err)
		}
	}
	got, err := Convert(1, []byte(`{"seq":3,"at":5,"kind":"early","item":"i"}`))
	if !errors.Is(err, ErrLeftOut) || got != (Entry{Seq: 3, At: 5}) {
		t.Errorf("early: %+v, %v", got, err)
	}
}

// What is none of a version's words is refused and never taken for another.
func TestConvertIsStrict(t *testing.T) {
	for _, c := range []struct {
		version    int
		body, want string
	}{
		{0, `{}`, "version 0"},
		{3, `{"seq":1,"at":0,"kind":"begin"}`, "version 3, and this program reads versions 1 to 2"},
		{1, `{"kind":"beginn"}`, `no kind "beginn"`},
		{1, `{"kind":"stop-call"}`, `no kind "stop-call"`},
		{1, `{"kind":"begin","value":-1}`, "no seed"},
		{1, `{"kind":"begin","value":1.5}`, "no seed"},
		{1, `{"kind":"ask-again","name":"unanswered"}`, `no reason "unanswered"`},
		{1, `{"kind":"moved","name":"pilot"}`, `no seat "pilot"`},
		{1, `{"kind":"answer","text":"yes"}`, "no truth"},
		{1, `{"kind":"answer","text":"yes","name":"passing"}`, "no length of time"},
		{1, `{"kind":"cue","name":"call"}`, `no class "call"`},
		{1, `{"kind":"cue-end"}`, `no class ""`},
		{1, `{"kind":"heard","name":"wanted"}`, `no reason "wanted"`},
		{1, `{"kind":"action","value":0.5}`, "number of an action"},
		{1, `{"kind":"action"}`, "number of an action"},
		{1, `{"kind":"lost","name":"timeout"}`, `no reason "timeout"`},
		{1, `{"kind":"resumed"}`, `no reason ""`},
		{1, `{"kind":"resumed","name":"right","value":-1}`, "no length of time"},
		{1, `{"kind":"unpaused","value":1e300}`, "no length of time"},
		{1, `{"kind":"peak","text":"last"}`, `no class "last"`},
		{1, `{"kind":"press","seat":"trainee"}`, "unknown field"},
		{1, `{"kind":"press"} {}`, "follows its end"},
		{1, `[]`, "cannot be read"},
		{1, ``, "cannot be read"},
		{2, `{"kind":"crew"}`, `no kind "crew"`},
		{2, `{}`, `no kind ""`},
		{2, `{"kind":"press","seat":"crew"}`, `no seat "crew"`},
		{2, `{"kind":"lost","why":"time"}`, `no reason "time"`},
		{2, `{"kind":"cue","class":"typed"}`, `no class "typed"`},
		{2, `{"kind":"begin","seed":7}`, "cannot be read"},
		{2, `{"kind":"begin","more":7}`, "unknown field"},
		{2, `{"kind":"begin"}x`, "follows its end"},
	} {
		if got, err := Convert(c.version, []byte(c.body)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("version %d, %s: %+v, %v; wanted %q", c.version, c.body, got, err, c.want)
		}
	}
}

// An infinite reading, which JSON has not, had been put into the text.
func TestConvertAnInfinitePeak(t *testing.T) {
	got, err := Convert(1, []byte(`{"seq":1,"at":0,"kind":"peak","name":"tot1","text":"highest (value +Inf)"}`))
	if err != nil || got.Class != Highest || fmt.Sprint(got.Value) != "+Inf" {
		t.Errorf("%+v, %v", got, err)
	}
}

// What an entry of version 1 has only with others.
func TestConvertLogOfVersion1(t *testing.T) {
	bodies := func() [][]byte {
		var list [][]byte
		for i, body := range []string{
			`"kind":"begin","name":"watch","text":"s","value":1`,
			`"kind":"inject","abnormal":"a#1","name":"a"`,
			`"kind":"cue","cue":1,"name":"caption","text":"fire1","onset":1`,
			`"kind":"onset","abnormal":"a#1","name":"caption","cue":1`,
			`"kind":"early","item":"i"`,
			`"kind":"done","item":"i","ok":true`,
			`"kind":"handled","abnormal":"a#1"`,
			`"kind":"moved","control":"c","position":"p","name":"crew"`,
			`"kind":"moved","control":"d","position":"p","name":"crew"`,
			`"kind":"ask","item":"j","name":"set","text":"Battery","cue":2`,
			`"kind":"moved","control":"c","position":"q","name":"crew"`,
			`"kind":"inject","abnormal":"b#1","name":"b","ok":true`,
			`"kind":"cue","cue":3,"name":"speech","text":"Fuel truck, please","onset":9,"ok":true`,
			`"kind":"onset","abnormal":"b#1","name":"speech","cue":3`,
			`"kind":"cue-end","cue":3,"name":"speech"`,
			`"kind":"handled","abnormal":"b#1"`,
		} {
			list = append(list, fmt.Appendf(nil, `{"seq":%d,"at":%d,%s}`, i+1, i, body))
		}
		return list
	}
	want := []Entry{
		{Kind: Begin, Name: "watch", Text: "s", Seed: 1, Number: 2},
		{Kind: Inject, Injection: "a#1", Abnormal: "a"},
		{Kind: Cue, Cue: 1, Class: Caption, Name: "fire1", Onset: 1},
		{Kind: Onset, Injection: "a#1", Class: Caption, Name: "fire1", Cue: 1},
		{Kind: Done, Seat: Trainee, Item: "i", OK: true},
		{Kind: Handled, Injection: "a#1"},
		{Kind: Moved, Seat: Instructor, Control: "c", Position: "p"},
		{Kind: Moved, Seat: Instructor, Control: "d", Position: "p"},
		{Kind: Ask, Seat: Partner, Item: "j", Name: "set", Text: "Battery", Cue: 2},
		{Kind: Moved, Seat: Pilot, Control: "c", Position: "q"},
		{Kind: Inject, Injection: "b#1", Abnormal: "b", OK: true},
		{Kind: Cue, Cue: 3, Class: Call, Text: "Fuel truck, please", Onset: 9, OK: true},
		{Kind: Onset, Injection: "b#1", Class: Call, Cue: 3},
		{Kind: CueEnd, Cue: 3, Class: Call},
		{Kind: Cleared, Injection: "b#1"},
	}
	for i := range want {
		want[i].Seq, want[i].At = i+1, time.Duration(i)
		if i > 3 {
			want[i].At++ // after the one that is left out
		}
	}
	got, err := ConvertLog(1, bodies())
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%+v, %v; wanted\n%+v", got, err, want)
	}
	for missing := range bodies() {
		list := bodies()
		if missing == len(list)-1 {
			continue // nothing says that there was one
		}
		list = append(list[:missing], list[missing+1:]...)
		if _, err := ConvertLog(1, list); err == nil || !strings.Contains(err.Error(), fmt.Sprintf("no entry %d", missing+1)) {
			t.Errorf("without entry %d: %v", missing+1, err)
		}
	}
	if _, err := ConvertLog(1, [][]byte{[]byte(`{"seq":1,"kind":"x"}`)}); err == nil || !strings.Contains(err.Error(), "entry 1") {
		t.Error(err)
	}
	if _, err := ConvertLog(7, nil); err == nil {
		t.Error("a log of version 7 was read")
	}
}

// Seconds in floating point give back the nanoseconds that they stood for. Cut off, as they were read before, about one in
// fifty comes back short.
func TestLengthsOfVersion1AreExact(t *testing.T) {
	draw := rand.New(rand.NewPCG(1, 2))
	const n = 1_000_000
	short := 0
	for range n {
		want := time.Second + time.Duration(draw.Int64N(int64(119*time.Second)+1))
		in := first{Value: want.Seconds()}
		if got, err := in.length(); err != nil || got != want {
			t.Fatalf("%d ns came back as %d, %v", want, got, err)
		}
		if time.Duration(want.Seconds()*float64(time.Second)) < want {
			short++
		}
	}
	if short < n/100 {
		t.Errorf("only %d of %d would have been cut short: too easy", short, n)
	}
	for range 20_000 {
		want := time.Duration(draw.Int64N(int64(3 * time.Hour)))
		body, err := json.Marshal(map[string]any{"seq": 1, "at": 0, "kind": "unpaused", "value": want.Seconds()})
		if err != nil {
			t.Fatal(err)
		}
		if got, err := Convert(1, body); err != nil || got.Length != want {
			t.Fatalf("%s: %+v, %v", body, got, err)
		}
	}
}

// Whatever is written by this version is read by it as it was.
func TestConvertVersion2(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := anyEntry().Draw(t, "entry")
		body, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := Convert(Version, body); err != nil || got != e {
			t.Fatalf("%s: %+v, %v", body, got, err)
		}
	})
}

// The lists of words are those that are declared.
func TestListsAreWhole(t *testing.T) {
	file, err := parser.ParseFile(token.NewFileSet(), "logbook.go", nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	declared := map[string][]string{}
	for _, d := range file.Decls {
		d, ok := d.(*ast.GenDecl)
		if !ok || d.Tok != token.CONST {
			continue
		}
		for _, s := range d.Specs {
			s := s.(*ast.ValueSpec)
			if of, ok := s.Type.(*ast.Ident); ok {
				declared[of.Name] = append(declared[of.Name], strings.Trim(s.Values[0].(*ast.BasicLit).Value, `"`))
			}
		}
	}
	for name, list := range map[string]any{"Kind": Kinds, "Reason": Reasons, "Class": Classes, "Seat": Seats} {
		want := declared[name]
		if name == "Class" {
			want = strings.Fields(strings.Replace(strings.Join(want, " "), "typed ", "", 1))
		}
		if got := fmt.Sprint(list); len(want) == 0 || got != fmt.Sprint(want) {
			t.Errorf("%s: %s, declared are %v", name, got, want)
		}
	}
}
