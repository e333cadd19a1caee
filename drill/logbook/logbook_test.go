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
		{Entry{At: time.Hour, Kind: Moved, Control: "engine1", Position: "idle", Name: "crew"}, " 3600.000 moved      control=engine1 position=idle name=crew"},
		{Entry{At: 20 * time.Millisecond, Kind: Done, Item: "brake", OK: true}, "    0.020 done       item=brake ok"},
		{Entry{At: time.Second, Kind: Heard, Cue: 3, Onset: 1060 * time.Millisecond, Until: 1999499 * time.Microsecond}, "    1.000 heard      cue=3 onset=1.060 until=1.999"},
		{Entry{Kind: Peak, Name: "tot1", Value: 812.3456789, Text: "highest"}, `    0.000 peak       name=tot1 value=812.346 "highest"`},
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
		e := rapid.Custom(func(t *rapid.T) Entry {
			text := rapid.String()
			at := rapid.Map(rapid.Int64(), func(n int64) time.Duration { return time.Duration(n) })
			return Entry{
				Seq: rapid.Int().Draw(t, "seq"), At: at.Draw(t, "at"), Kind: Kind(text.Draw(t, "kind")), Item: text.Draw(t, "item"),
				Control: text.Draw(t, "control"), Position: text.Draw(t, "position"), Key: text.Draw(t, "key"), Abnormal: text.Draw(t, "abnormal"),
				Cue: rapid.Int().Draw(t, "cue"), Name: text.Draw(t, "name"), Text: text.Draw(t, "text"),
				Value: rapid.Float64().Draw(t, "value"), OK: rapid.Bool().Draw(t, "ok"), Onset: at.Draw(t, "onset"), Until: at.Draw(t, "until"),
			}
		}).Draw(t, "entry")
		body, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		var back Entry
		if err := json.Unmarshal(body, &back); err != nil {
			t.Fatal(err)
		}
		if e.Value == 0 {
			e.Value, back.Value = 0, back.Value+0 // the sign of zero is not kept
		}
		if back != e {
			t.Fatalf("%#v became %#v", e, back)
		}
		if e.Kind, e.Item, e.Control, e.Position, e.Key, e.Abnormal, e.Name = Done, "", "", "", "", "", ""; strings.Contains(e.Describe(), "\n") {
			t.Fatalf("%q is not one line", e.Describe())
		}
	})
}
