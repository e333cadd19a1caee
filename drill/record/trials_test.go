package record

import (
	"bytes"
	"encoding/json"
	"errors"
	"slices"
	"testing"
	"time"
)

// judgedBy is a judge who writes down whom it was asked for.
func judgedBy(rules int, asked *[]int64, give func(*Sitting) ([]byte, error)) Judging {
	return Judging{Rules: rules, Version: "test", Trials: func(s *Sitting) ([]byte, error) {
		*asked = append(*asked, s.ID)
		return give(s)
	}}
}

// Trials are drawn once for sittings that have ended, have documents and a trainee: then again by other rules. An error of the judge
// ends it, and nothing is concluded from it. They come in the order in which they were sat, whatever the clock said.
func TestCounted(t *testing.T) {
	s := open(t, fresh(t))
	began := time.Date(2025, 5, 1, 9, 0, 0, 0, time.UTC)
	documents := json.RawMessage(`{"a":1}`)
	add := func(trainee string, after time.Duration, how State, documents json.RawMessage, trials *Trials) int64 {
		t.Helper()
		sitting := example()
		sitting.Trainee, sitting.Started, sitting.Documents, sitting.Plan = trainee, began.Add(after), documents, "none"
		if documents != nil {
			sitting.Plan = HashOf(documents)
		}
		w, err := s.Begin(sitting)
		if err != nil {
			t.Fatal(err)
		}
		w.Append(entry(1))
		if how == Unended {
			w.Abandon()
			return w.ID()
		}
		if err := w.End([]byte("{}"), how == Complete, Digest{Trials: trials}); err != nil {
			t.Fatal(err)
		}
		return w.ID()
	}
	late := add("kim", 9*time.Hour, Complete, documents, nil)
	early := add("kim", 1*time.Hour, Stopped, documents, nil)
	ready := add("kim", 5*time.Hour, Complete, documents, &Trials{Rules: 3, Version: "another", Body: []byte("ready")})
	add("kim", 6*time.Hour, Unended, documents, nil)
	add("kim", 7*time.Hour, Complete, nil, nil)
	add("", 8*time.Hour, Complete, documents, nil)
	add("ann", 9*time.Hour, Complete, documents, nil)

	var asked []int64
	give := func(s *Sitting) ([]byte, error) { return []byte(s.Started.UTC().Format("15:04")), nil }
	want := func(what string, by Judging, wantAsked, wantIDs []int64) []Counted {
		t.Helper()
		asked = nil
		got, err := s.Counted("kim", by)
		if err != nil {
			t.Fatalf("%s: %v", what, err)
		}
		ids := make([]int64, len(got))
		for i := range got {
			ids[i] = got[i].ID
		}
		slices.Sort(asked)
		if slices.Sort(wantAsked); !slices.Equal(asked, wantAsked) || !slices.Equal(ids, wantIDs) {
			t.Errorf("%s: asked for %d, got %d; want %d and %d", what, asked, ids, wantAsked, wantIDs)
		}
		return got
	}
	broken := errors.New("the disk")
	failing := judgedBy(3, &asked, func(*Sitting) ([]byte, error) { return nil, broken })
	if _, err := s.Counted("kim", failing); !errors.Is(err, broken) {
		t.Errorf("a judge that fails: %v", err)
	}
	want("at first", judgedBy(3, &asked, give), []int64{late, early}, []int64{late, early, ready})
	counted := want("again", judgedBy(3, &asked, give), nil, []int64{late, early, ready})
	shown, err := s.Shown(counted)
	if err != nil || len(shown) != 3 || string(shown[0].Trials) != "18:00" || string(shown[1].Trials) != "10:00" || string(shown[2].Trials) != "ready" ||
		shown[0].Counted != counted[0] || shown[0].Procedure != example().Procedure {
		t.Errorf("shown %+v, %v", shown, err)
	}
	want("by other rules", judgedBy(4, &asked, give), []int64{late, early, ready}, []int64{late, early, ready})
	none := func(s *Sitting) ([]byte, error) {
		if s.ID == ready {
			return nil, nil
		}
		return give(s)
	}
	want("one that cannot be judged", judgedBy(5, &asked, none), []int64{late, early, ready}, []int64{late, early})
	want("that again", judgedBy(5, &asked, give), nil, []int64{late, early})
	newer := judgedBy(5, &asked, give)
	newer.Version = "newer"
	want("by a newer program", newer, []int64{ready}, []int64{late, early, ready})
	if err := s.Unread(early); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Shown(counted); !errors.Is(err, ErrGone) {
		t.Errorf("one that is not there: %v", err)
	}
	want("one thrown away", newer, []int64{early}, []int64{late, early, ready})
	if got, err := s.Counted("", newer); err != nil || got != nil {
		t.Errorf("of nobody: %v, %v", got, err)
	}
}

// Trials do not travel: a file has none, and one that claims some is refused. What it says of its date does.
func TestTrialsAndTheDateElsewhere(t *testing.T) {
	here, there := open(t, fresh(t)), open(t, fresh(t))
	sitting := example()
	sitting.Documents = json.RawMessage(`{"a":1}`)
	sitting.Plan, sitting.Moved = HashOf(sitting.Documents), 72*time.Hour
	real := time.Now()
	sitting.Started = real.Add(sitting.Moved)
	w, err := here.Begin(sitting)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.End([]byte("{}"), false, Digest{Trials: &Trials{Rules: 3, Version: "test", Body: []byte("what it showed")}}); err != nil {
		t.Fatal(err)
	}
	kept, err := here.Sittings(Filter{})
	if err != nil || len(kept) != 1 || kept[0].Moved != sitting.Moved {
		t.Fatalf("%+v, %v", kept, err)
	}
	if lasted, real := kept[0].Ended.Sub(kept[0].Started), time.Since(real); lasted < 0 || lasted > real {
		t.Errorf("it lasted %v by its record, and no more than %v were there", lasted, real)
	}
	var file bytes.Buffer
	if _, err := here.Export(&file, Filter{}, "", nil); err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(file.Bytes(), []byte("showed")) || !bytes.Contains(file.Bytes(), []byte(`"moved_ns":259200000000000`)) {
		t.Errorf("exported is %s", file.Bytes())
	}
	claiming := bytes.Replace(file.Bytes(), []byte(`"moved_ns"`), []byte(`"trials":"d2hhdA==","moved_ns"`), 1)
	if got, err := there.Import(bytes.NewReader(claiming), anything); err != nil || got.New != 0 || len(got.Refused) != 1 {
		t.Errorf("with trials: %+v, %v", got, err)
	}
	if got, err := there.Import(bytes.NewReader(file.Bytes()), anything); err != nil || got.New != 1 {
		t.Fatalf("%+v, %v", got, err)
	}
	other := bytes.Replace(file.Bytes(), []byte(`"moved_ns":259200000000000`), []byte(`"moved_ns":1`), 1)
	if got, err := there.Import(bytes.NewReader(other), anything); err != nil || len(got.Refused) != 1 {
		t.Errorf("with another account of its date: %+v, %v", got, err)
	}
	taken, err := there.Sittings(Filter{})
	if err != nil || len(taken) != 1 || taken[0].Moved != sitting.Moved || !taken[0].Ended.Equal(kept[0].Ended) {
		t.Errorf("%+v, %v; want %+v", taken, err, kept)
	}
	var n int
	if err := there.db.QueryRow("SELECT count(*) FROM trials").Scan(&n); err != nil || n != 0 {
		t.Errorf("%d trials came with it, %v", n, err)
	}
}

// A sitting without a date counts as of the one before it, or, if there is none, of the one after it: it was sat between them.
func TestCountedWithoutDates(t *testing.T) {
	day := func(n int) time.Time { return time.Date(2025, 5, n, 9, 0, 0, 0, time.UTC) }
	never, wrong := undated[0], undated[1]
	for _, test := range []struct{ began, want []time.Time }{
		{nil, nil},
		{[]time.Time{day(1), day(2)}, []time.Time{day(1), day(2)}},
		{[]time.Time{never, wrong, day(2), never, day(3), wrong}, []time.Time{day(2), day(2), day(2), day(2), day(3), day(3)}},
		{[]time.Time{day(1), never, day(2)}, []time.Time{day(1), day(1), day(2)}},
		{[]time.Time{never, never}, []time.Time{never, never}},
	} {
		list := make([]Counted, len(test.began))
		for i := range list {
			list[i].Began = test.began[i]
		}
		date(list)
		for i := range list {
			if !list[i].Began.Equal(test.want[i]) {
				t.Errorf("%v: the one at %d counts as of %v, want %v", test.began, i, list[i].Began, test.want[i])
			}
		}
	}
}
