package main

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/cmd/hornlark/desk"
	"hornlark/drill/logbook"
	"hornlark/drill/practice"
	"hornlark/drill/record"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// shortHover is a scenario of a few seconds.
var shortHover = filepath.Join("testdata", "short", "hover-scenario.yaml")

// played is a sitting that was gone through, to be kept as often as is wanted.
type played struct {
	ex     *desk.Exercise
	result *score.Result
}

func play(t testing.TB, name string, answers *scenario.Answers) *played {
	t.Helper()
	o := &drillOptions{scenario: name, virtual: true, seed: 7, seedSet: true, answers: scenario.Perfect, layout: "qwerty"}
	if strings.Contains(name, ".") {
		o.own = []string{filepath.Dir(name)}
	}
	ex, err := o.exercise()
	if err != nil {
		t.Fatal(err)
	}
	if answers != nil {
		ex.Answers = answers
	}
	if err := ex.RunVirtual(context.Background(), desk.Virtual{}); err != nil {
		t.Fatal(err)
	}
	return &played{ex, ex.Judge()}
}

// keep keeps it as a sitting of a trainee that began at a moment; killed without an end; early as a program did that kept no trials.
func (p *played) keep(t testing.TB, store *record.Store, trainee string, began time.Time, killed, early bool) {
	t.Helper()
	sitting := p.ex.Record()
	sitting.Trainee, sitting.Started, sitting.Version = trainee, began, version
	w, err := store.Begin(sitting)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range p.ex.Log {
		w.Append(e)
	}
	switch {
	case killed:
		w.Abandon()
		return
	case early:
		var body []byte
		if body, err = json.Marshal(p.result); err == nil {
			err = w.End(body, p.result.Completed, desk.DigestOf(p.result))
		}
	default:
		err = p.ex.Finish(w, version, p.result)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// fromNothing is what a trainee knows by the logs alone.
func fromNothing(t testing.TB, store *record.Store, trainee string, plans desk.Plans) *practice.Known {
	t.Helper()
	all, err := store.Sittings(record.Filter{Trainee: trainee})
	if err != nil {
		t.Fatal(err)
	}
	slices.Reverse(all)
	var shown []practice.Sitting
	for _, s := range all {
		if s.State == record.Unended {
			continue
		}
		k, err := plans.Load(store, s)
		if err != nil {
			t.Fatal(err)
		}
		shown = append(shown, practice.Sitting{Began: s.Started, Procedure: s.Procedure, Profile: s.Profile, Policy: s.Policy,
			Trials: score.Trials(k.Ex.Judge(), k.Ex.Sheet(k.Ex.Seed))})
	}
	return practice.LearnAll(practice.DefaultWeights, shown)
}

func recordsIn(t testing.TB, dir string) *record.Store {
	t.Helper()
	store, err := record.Open(filepath.Join(dir, "hornlark.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { store.Close() })
	return store
}

// What is known is what it comes to from nothing, whatever was added, imported and forgotten in whatever order, and whenever it was
// asked for in between.
func TestKnownIsWhatItComesToFromNothing(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	idle := &scenario.Answers{}
	pool := []*played{play(t, "limits", nil), play(t, "limits", idle), play(t, shortHover, nil), play(t, shortHover, idle)}
	runs, plans := 6, desk.Plans{}
	if testing.Short() {
		runs = 3
	}
	for seed := range uint64(runs) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			draw := rand.New(rand.NewPCG(seed, 13))
			here, there := recordsIn(t, t.TempDir()), recordsIn(t, t.TempDir())
			at := func() time.Time {
				return time.Date(2025, 3, 1, 19, 0, 0, 0, time.UTC).Add(time.Duration(draw.IntN(40*24)) * time.Hour) // so that some begin together
			}
			who := func() string { return []string{"kim", "kim", "ann", ""}[draw.IntN(4)] }
			done := ""
			for range 14 {
				switch n := draw.IntN(10); {
				case n < 5:
					pool[draw.IntN(len(pool))].keep(t, here, who(), at(), n == 0, n == 1)
					done = "kept one"
				case n < 7:
					for range 1 + draw.IntN(3) {
						pool[draw.IntN(len(pool))].keep(t, there, who(), at(), false, false)
					}
					done = "took in those of another desk"
					var file bytes.Buffer
					if _, err := there.Export(&file, record.Filter{}, "", nil); err != nil {
						t.Fatal(err)
					}
					if got, err := here.Import(&file, importChecks()); err != nil || len(got.Refused) > 0 {
						t.Fatalf("%+v, %v", got, err)
					}
				case n == 7:
					name := who()
					if _, err := here.Forget(name); err != nil {
						t.Fatal(err)
					}
					done = "forgot " + name
				default:
					done = "nothing"
				}
				if draw.IntN(3) == 0 {
					continue // nobody asks
				}
				for _, trainee := range []string{"kim", "ann"} {
					want := fromNothing(t, here, trainee, plans)
					for _, again := range []string{"", ", again"} {
						got, err := knowledgeOf(here, trainee)
						if err != nil || !reflect.DeepEqual(got, want) {
							t.Fatalf("%s%s: of %s is known %+v, %v; from nothing %+v", done, again, trainee, got, err, want)
						}
					}
				}
			}
		})
	}
}

// What is asked for of sittings is what they showed, and a sitting without a name is nobody's.
func TestKnownOf(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	store := recordsIn(t, t.TempDir())
	limits, recall := play(t, "limits", nil), play(t, "recall-start", nil)
	day := time.Date(2025, 3, 1, 19, 0, 0, 0, time.UTC)
	limits.keep(t, store, "kim", day, false, true)
	recall.keep(t, store, "kim", day.AddDate(0, 0, 1), false, false)
	limits.keep(t, store, "", day, false, false)
	limits.keep(t, store, "kim", day.AddDate(0, 0, 2), true, false)
	known, sittings, err := knownOf(store, "kim")
	if err != nil || len(sittings) != 2 || known.Count != 2 {
		t.Fatalf("%d sittings, %+v, %v", len(sittings), known, err)
	}
	for i, p := range []*played{limits, recall} {
		got, want := sittings[i], score.Trials(p.result, p.ex.Sheet(p.ex.Seed))
		if !reflect.DeepEqual(got.Trials, want) || len(want) == 0 || got.Procedure != p.ex.Procedure().Name || got.Profile != p.ex.Profile.Name || got.Policy != p.ex.PolicyName() {
			t.Errorf("sitting %d of %s by %s showed %+v; want %+v", i, got.Procedure, got.Policy, got.Trials, want)
		}
	}
	if latest, err := latestOf(store, "kim", 1); err != nil || !reflect.DeepEqual(latest, sittings[1:]) {
		t.Errorf("the latest: %+v, %v", latest, err)
	}
	if latest, err := latestOf(store, "kim", 9); err != nil || !reflect.DeepEqual(latest, sittings) {
		t.Errorf("more than there are: %+v, %v", latest, err)
	}
	for _, name := range []string{"", "ann"} {
		known, sittings, err := knownOf(store, name)
		if err != nil || len(sittings) > 0 || len(known.States) > 0 || known.Count > 0 {
			t.Errorf("of %q: %+v, %+v, %v", name, known, sittings, err)
		}
	}
	other := practice.DefaultWeights
	other[2] *= 2
	if known, err := knowledgeWith(store, "kim", &other); err != nil || known.Prior != other || known.Count != 2 {
		t.Errorf("by other weights: %+v, %v", known, err)
	}
	if again, err := knowledgeOf(store, "kim"); err != nil || !reflect.DeepEqual(again, known) {
		t.Errorf("by the first again: %+v, %v; want %+v", again, err, known)
	}
}

// withDatabase does something to the file of records behind the store's back.
func withDatabase(t testing.TB, dir string, do func(*sql.DB) error) {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+filepath.ToSlash(filepath.Join(dir, "hornlark.db")))
	if err == nil {
		err = do(db)
	}
	if err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

// What is kept of trials and of what is known is thrown away when it does not hold any more: by other rules, damaged, drawn by a program
// that could not judge. What cannot be judged is no part of what is known, and is not judged again and again.
func TestWhatIsKeptOfKnownMayBeWrong(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	dir := t.TempDir()
	store := recordsIn(t, dir)
	limits := play(t, "limits", nil)
	day := time.Date(2025, 3, 1, 19, 0, 0, 0, time.UTC)
	for i := range 3 {
		limits.keep(t, store, "kim", day.AddDate(0, 0, i), false, false)
	}
	want := fromNothing(t, store, "kim", desk.Plans{})
	for name, statements := range map[string][]string{
		"nothing":                                  {"SELECT 1"},
		"no snapshot":                              {"DELETE FROM known"},
		"a damaged snapshot":                       {"UPDATE known SET body = substr(body, 1, length(body) - 1)"},
		"an empty snapshot":                        {"UPDATE known SET body = x''"},
		"no trials":                                {"DELETE FROM trials"},
		"no trials of one, no snapshot":            {"DELETE FROM trials WHERE sitting = 2", "DELETE FROM known"},
		"trials by other rules":                    {"UPDATE trials SET rules = rules - 1, body = x'00'", "DELETE FROM known"},
		"a later program's rules":                  {"UPDATE trials SET rules = rules + 1, body = NULL WHERE sitting = 3"},
		"another program could not":                {"UPDATE trials SET version = 'another', body = NULL WHERE sitting = 1", "DELETE FROM known"},
		"another program could not, with snapshot": {"UPDATE trials SET version = 'another', body = NULL"},
		"trials by another program, and good":      {"UPDATE trials SET version = 'another'"},
		"both gone":                                {"DELETE FROM known", "DELETE FROM trials"},
	} {
		if _, err := knowledgeOf(store, "kim"); err != nil {
			t.Fatal(err)
		}
		withDatabase(t, dir, func(db *sql.DB) error {
			for _, s := range statements {
				if _, err := db.Exec(s); err != nil {
					return fmt.Errorf("%s: %w", s, err)
				}
			}
			return nil
		})
		if got, err := knowledgeOf(store, "kim"); err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%s: known is %+v, %v; want %+v", name, got, err, want)
		}
	}

	// Damaged trials are told of once.
	withDatabase(t, dir, func(db *sql.DB) error {
		_, err := db.Exec("UPDATE trials SET body = x'01020304' WHERE sitting = 2; DELETE FROM known")
		return err
	})
	if _, err := knowledgeOf(store, "kim"); err == nil || !strings.Contains(err.Error(), "sitting 2") {
		t.Errorf("damaged trials: %v", err)
	}
	if got, err := knowledgeOf(store, "kim"); err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("after damaged trials: %+v, %v", got, err)
	}

	// One with a log that this version does not know, and one without documents.
	withDatabase(t, dir, func(db *sql.DB) error {
		_, err := db.Exec(`DROP TRIGGER sitting_fixed; UPDATE sitting SET log_version = 99 WHERE id = 1; UPDATE sitting SET plan = 'none' WHERE id = 3;
			DELETE FROM trials; DELETE FROM known`)
		return err
	})
	for range 2 {
		if got, err := knowledgeOf(store, "kim"); err != nil || got.Count != 1 || !got.Until.Equal(day.AddDate(0, 0, 1)) {
			t.Errorf("with one that can be judged of three: %+v, %v", got, err)
		}
	}
	withDatabase(t, dir, func(db *sql.DB) (err error) {
		var judged, given int
		err = db.QueryRow("SELECT count(*), count(body) FROM trials").Scan(&judged, &given)
		if judged != 2 || given != 1 {
			t.Errorf("%d were tried and %d judged; want 2 and 1", judged, given)
		}
		return err
	})
}

// benchThings is how many things there are to know in the records of the benchmark: the target of a plan.
const benchThings = 2000

// manyTrials makes records of so many sittings with so many trials each.
func manyTrials(t testing.TB, dir string, sittings, trials int) {
	t.Helper()
	recordsIn(t, dir).Close()
	draw := rand.New(rand.NewPCG(1, 2))
	withDatabase(t, dir, func(db *sql.DB) error {
		tx, err := db.Begin()
		if err != nil {
			return err
		}
		defer tx.Rollback()
		if _, err := tx.Exec("INSERT INTO trainee VALUES (1, 'kim')"); err != nil {
			return err
		}
		body := `{"items":"` + strings.Repeat("x", 20_000) + `"}` // as long as a result is
		for i := range sittings {
			list := make([]score.Trial, trials)
			for j := range list {
				reaction := 400 + 3000*draw.Float64()
				list[j] = score.Trial{Kind: score.TrialItem, Name: fmt.Sprintf("some-item-%d", draw.IntN(benchThings)), Right: draw.IntN(5) > 0, ReactionMS: &reaction, ParMS: 2000}
			}
			started := time.Date(2027, 1, 1, 9, 0, 0, 0, time.UTC).Add(time.Duration(i) * 3 * time.Hour).UnixNano()
			if _, err := tx.Exec(`INSERT INTO sitting (id, uid, trainee, scenario, procedure, profile, policy, seed, started_ns, version, plan, layout, lead_ns, buffer_ns, latency_ns, log_version, place)
				VALUES (?1, ?2, 1, 'first-start', 'dunlin-start', 'dunlin-lt', 'prompted', 1, ?3, 'test', 'a-plan-of-thirty-two-characters-', 'qwerty', 0, 0, 0, ?4, ?3)`,
				i+1, fmt.Sprintf("UID-OF-SOME-TWENTY-SIX-%d", i), started, logbook.Version); err != nil {
				return err
			}
			if _, err := tx.Exec("INSERT INTO result VALUES (?, ?, 1, ?)", i+1, started+1, body); err != nil {
				return err
			}
			if _, err := tx.Exec("INSERT INTO trials VALUES (?, ?, ?, ?)", i+1, score.Rules, version, score.PackTrials(list)); err != nil {
				return err
			}
		}
		return tx.Commit()
	})
}

// Weights are fitted with the sitting that makes it due, whether what is known comes from nothing or from a snapshot of before, and both come to the same;
// a snapshot that holds is taken with the weights in it.
func TestWeightsAreFittedToTheTrainee(t *testing.T) {
	dir := t.TempDir()
	manyTrials(t, dir, 40, 200)
	store := recordsIn(t, dir)
	known, sittings, err := knownOf(store, "kim")
	if err != nil {
		t.Fatal(err)
	}
	want := practice.LearnAll(practice.DefaultWeights, sittings)
	if !want.Fit.Used || want.Weights == want.Prior {
		t.Fatalf("nothing is fitted: %+v", want.Fit)
	}
	if !reflect.DeepEqual(known, want) {
		t.Errorf("from nothing %+v is known by %+v; want %+v", known.Fit, known.Weights, want.Fit)
	}
	if again, err := knowledgeOf(store, "kim"); err != nil || !reflect.DeepEqual(again, want) {
		t.Errorf("from the snapshot: %+v, %v", again.Fit, err)
	}
	counted, err := countedOf(store, "kim")
	if err != nil {
		t.Fatal(err)
	}
	fits := map[int]bool{}
	for _, n := range []int{1, 12, 20, 39} {
		early := practice.Snapshot{Known: practice.LearnAll(practice.DefaultWeights, sittings[:n]), Rules: score.Rules, Sittings: hashOfSittings(counted[:n])}
		fits[early.Known.Fit.Looks] = true
		if err := store.KeepKnown("kim", early.Pack()); err != nil {
			t.Fatal(err)
		}
		if got, err := knowledgeOf(store, "kim"); err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("from a snapshot of %d: %+v, %v; want %+v", n, got.Fit, err, want.Fit)
		}
	}
	if len(fits) < 3 {
		t.Errorf("the snapshots of before stand between too few fits: %v", fits)
	}
}

// BenchmarkKnown asks what is known by 1,000,000 trials: with a snapshot that is up to date, with one sitting added since, with all
// that the sittings showed, and from nothing. The first is to take less than 50 ms.
func BenchmarkKnown(b *testing.B) {
	b.Setenv("TMPDIR", b.TempDir())
	dir := b.TempDir()
	manyTrials(b, dir, 5000, 200)
	store := recordsIn(b, dir)
	ask := func(b *testing.B) {
		known, err := knowledgeOf(store, "kim")
		if err != nil || known.Count != 5000 || len(known.States) != benchThings {
			b.Fatal(known.Count, len(known.States), err)
		}
	}
	ask(b)
	b.Run("up-to-date", func(b *testing.B) {
		for b.Loop() {
			ask(b)
		}
	})
	b.Run("opened", func(b *testing.B) {
		for b.Loop() {
			fresh := recordsIn(b, dir)
			if _, err := knowledgeOf(fresh, "kim"); err != nil {
				b.Fatal(err)
			}
			fresh.Close()
		}
	})
	b.Run("with-sittings", func(b *testing.B) {
		for b.Loop() {
			if _, list, err := knownOf(store, "kim"); err != nil || len(list) != 5000 {
				b.Fatal(err)
			}
		}
	})
	b.Run("from-nothing", func(b *testing.B) {
		for b.Loop() {
			b.StopTimer()
			if err := store.KeepKnown("kim", []byte{0}); err != nil {
				b.Fatal(err)
			}
			b.StartTimer()
			ask(b)
		}
	})
}
