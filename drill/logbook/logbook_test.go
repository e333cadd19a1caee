package logbook

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// The line of an entry, as the screen, the transcripts and the reports have it.
func TestDescribe(t *testing.T) {
	for _, c := range []struct {
		entry Entry
		want  string
	}{
		{Entry{}, "    0.000"},
		{Entry{At: 12500 * time.Millisecond, Kind: Press, Key: "shift+a"}, "   12.500 press      key=shift+a"},
		{Entry{At: time.Hour, Kind: Moved, Control: "engine1", Position: "idle", Seat: Instructor}, " 3600.000 moved      seat=instructor control=engine1 position=idle"},
		{Entry{Kind: Moved, Seat: Trainee, Began: time.Second, Control: "engine1", Why: Sprang}, "    0.000 moved      began=1.000 control=engine1 why=sprang"},
		{Entry{Kind: Figure, Injection: "hot-start#1", Class: Highest, Name: "tot1", Value: 900, Length: 2500 * time.Millisecond}, "    0.000 figure     injection=hot-start#1 class=highest name=tot1 value=900 length=2.500"},
		{Entry{Kind: Begin, Name: "recall", Number: 2, Seed: 18446744073709551615, Text: "x"}, `    0.000 begin      name=recall number=2 seed=18446744073709551615 "x"`},
		{Entry{Kind: Instruct, Abnormal: "hot-start", Truth: "no", Cue: 4}, "    0.000 instruct   abnormal=hot-start cue=4 truth=no"},
		{Entry{At: 20 * time.Millisecond, Kind: Done, Item: "brake", OK: true}, "    0.020 done       item=brake ok"},
		{Entry{At: time.Second, Kind: Heard, Cue: 3, Onset: 1060 * time.Millisecond, Until: 1999499 * time.Microsecond}, "    1.000 heard      cue=3 onset=1.060 until=1.999"},
		{Entry{Kind: Peak, Name: "tot1", Value: 812.3456789, Class: Highest}, "    0.000 peak       class=highest name=tot1 value=812.346"},
		{Entry{Kind: End, Text: "a \"word\"\nand a line"}, `    0.000 end        "a \"word\"\nand a line"`},
	} {
		if got := strings.TrimRight(c.entry.Describe(), " "); got != c.want {
			t.Errorf("%q; wanted %q", got, c.want)
		}
	}
}

// An entry is kept as JSON and comes back as it was; whatever its text, its line is one line.
func TestEntriesComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := anyEntry().Draw(t, "entry")
		body, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		var back Entry
		if err := json.Unmarshal(body, &back); err != nil {
			t.Fatal(err)
		}
		if back != e {
			t.Fatalf("%#v became %#v", e, back)
		}
		// Ids and words of the contract have no line ends.
		line := Entry{Kind: e.Kind, Why: e.Why, Class: e.Class, Seat: e.Seat, Text: e.Text}
		if strings.Contains(line.Describe(), "\n") {
			t.Fatalf("%q is not one line", line.Describe())
		}
	})
}

// anyEntry makes an entry of any of the contract's words, and whatever else.
func anyEntry() *rapid.Generator[Entry] {
	return rapid.Custom(func(t *rapid.T) Entry {
		id := rapid.String()
		at := rapid.Map(rapid.Int64(), func(n int64) time.Duration { return time.Duration(n) })
		value := rapid.Float64().Draw(t, "value")
		if value == 0 {
			value = 0 // the sign of zero is not kept
		}
		return Entry{
			Seq: rapid.Int().Draw(t, "seq"), At: at.Draw(t, "at"), Kind: rapid.SampledFrom(Kinds).Draw(t, "kind"),
			Seat: rapid.SampledFrom(append([]Seat{""}, Seats...)).Draw(t, "seat"), Began: at.Draw(t, "began"),
			Why:   rapid.SampledFrom(append([]Reason{""}, Reasons...)).Draw(t, "why"),
			Class: rapid.SampledFrom(append([]Class{""}, Classes...)).Draw(t, "class"),
			Item:  id.Draw(t, "item"), Control: id.Draw(t, "control"), Position: id.Draw(t, "position"), Key: id.Draw(t, "key"),
			Injection: id.Draw(t, "injection"), Abnormal: id.Draw(t, "abnormal"), Cue: rapid.Int().Draw(t, "cue"),
			Name: id.Draw(t, "name"), Truth: id.Draw(t, "truth"), Text: id.Draw(t, "text"), Number: rapid.Int().Draw(t, "number"),
			Value: value, Length: at.Draw(t, "length"), Seed: rapid.Uint64().Draw(t, "seed"), OK: rapid.Bool().Draw(t, "ok"),
			Onset: at.Draw(t, "onset"), Until: at.Draw(t, "until"),
		}
	})
}
