package record

import (
	"bytes"
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/drill/logbook"
)

// Clocks are set back and forth between sittings, and some were never set. Each sitting lasts as long as it did, they stay in the order in which
// they were sat, nothing of them is refused elsewhere, and a date that cannot be is not claimed.
func TestClocksThatAreWrong(t *testing.T) {
	now := time.Now().Round(0)
	clocks := []struct {
		name    string
		at      time.Time
		undated bool
	}{
		{"right", now, false},
		{"an hour back", now.Add(-time.Hour), false},
		{"right again", now.Add(time.Second), false},
		{"a year back", now.AddDate(-1, 0, 0), false},
		{"ten years ahead", now.AddDate(10, 0, 0), false},
		{"right after that", now.Add(2 * time.Second), false},
		{"never set", time.Unix(0, 0), true},
		{"never set, a second later", time.Unix(1, 0), true},
		{"before all time", time.Date(1601, 1, 1, 0, 0, 0, 0, time.UTC), true}, // what nanoseconds of 64 bits since 1970 cannot say
		{"2099, to its end", time.Date(2099, 12, 31, 23, 59, 59, 0, time.UTC), true},
		{"2100", time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC), true},
		{"2262, where nanoseconds end", time.Date(2262, 4, 11, 23, 47, 16, 854775807, time.UTC), true},
		{"2300", time.Date(2300, 1, 1, 0, 0, 0, 0, time.UTC), true},
		{"right at last", now.Add(3 * time.Second), false},
	}
	s := open(t, fresh(t))
	told := 0
	var ids []int64
	for i, c := range clocks {
		sitting := example()
		sitting.Started, sitting.Seed = c.at, uint64(i)
		sitting.Documents, sitting.Plan = []byte(`{}`), HashOf([]byte(`{}`))
		began := time.Now()
		w, err := s.Begin(sitting)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		w.Append(logbook.Entry{Seq: 1, At: time.Duration(i), Kind: logbook.End, Why: logbook.Complete, OK: true})
		if err := w.End([]byte(judged), true, judgedDigest()); err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		took := time.Since(began)
		found, err := s.Sittings(Filter{Limit: 1})
		if err != nil || len(found) != 1 || found[0].Seed != uint64(i) {
			t.Fatalf("%s: the latest is another: %+v, %v", c.name, found, err)
		}
		if lasted := found[0].Ended.Sub(found[0].Started); lasted < 0 || lasted > took {
			t.Errorf("%s: it lasted %v, and not %v", c.name, lasted, took)
		}
		if Undated(found[0].Started) != c.undated || !c.undated && !found[0].Started.Equal(c.at) {
			t.Errorf("%s: it began at %v", c.name, found[0].Started)
		}
		if c.undated {
			told++
		}
		ids = append(ids, found[0].ID)
	}
	if notices := s.Notices(); len(notices) != told || !strings.Contains(notices[0], "1 January 1970 00:00, which cannot be; set it") {
		t.Errorf("told: %q", notices)
	}
	summaries, err := s.Summaries(Filter{})
	if err != nil || !slices.EqualFunc(summaries, ids, func(u Summary, id int64) bool { return u.ID == id }) {
		t.Errorf("%+v, %v", summaries, err)
	}
	body := export(t, s)
	to := open(t, fresh(t))
	if got, err := takeIn(to, bytes.NewReader(body), anything); err != nil || got.New != len(clocks) {
		t.Fatalf("%+v, %v", got, err)
	}
	if again := export(t, to); !bytes.Equal(again, body) {
		t.Error("exported again it is something else")
	}
	if got, err := takeIn(s, bytes.NewReader(body), anything); err != nil || got.Known != len(clocks) {
		t.Errorf("%+v, %v", got, err)
	}
}
