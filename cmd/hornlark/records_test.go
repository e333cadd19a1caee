package main

import (
	"context"
	"database/sql"
	"encoding/binary"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	_ "modernc.org/sqlite"

	"hornlark/audio"
	"hornlark/cmd/hornlark/desk"
	"hornlark/drill"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/record"
	"hornlark/drill/scenario"
)

// TestRecords runs the scripts about the records with the program as it is built.
func TestRecords(t *testing.T) {
	bin := filepath.Dir(program(t))
	modules := os.Getenv("HORNLARK_NODE_MODULES")
	short, err := filepath.Abs(filepath.Join("testdata", "short"))
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir: filepath.Join("testdata", "records"),
		Setup: func(env *testscript.Env) error {
			env.Setenv("PATH", bin+string(os.PathListSeparator)+env.Getenv("PATH"))
			env.Setenv("HORNLARK_DATA", filepath.Join(env.WorkDir, "data"))
			env.Setenv("NODE_PATH", modules)
			env.Setenv("SHORT", short)
			env.Setenv("TMPDIR", filepath.Join(env.WorkDir, "tmp"))
			env.Setenv("XDG_CONFIG_HOME", filepath.Join(env.WorkDir, "config"))
			env.Setenv("TZ", "UTC")
			// The clips that this machine has made stay where they are.
			env.Setenv("HOME", os.Getenv("HOME"))
			return os.MkdirAll(filepath.Join(env.WorkDir, "tmp"), 0o700)
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"sitting": sittingCommand, "lacks": lacksCommand, "damage": damageCommand},
		Condition: func(condition string) (bool, error) {
			what, name, _ := strings.Cut(condition, ":")
			switch what {
			case "node-module":
				if _, err := exec.LookPath("node"); err != nil || modules == "" {
					return false, nil
				}
				_, err := os.Stat(filepath.Join(modules, filepath.FromSlash(name)))
				return err == nil, nil
			case "python-module":
				return exec.Command("python3", "-c", "import "+name).Run() == nil, nil
			}
			return false, fmt.Errorf("unknown condition %q", condition)
		},
	})
}

// sittingCommand keeps a sitting that was gone through without a clock:
//
//	sitting [-trainee NAME] [-answers FILE] [-version V] [-started TIME] [-killed N] [-policy POLICY] SCENARIO
//
// -killed N keeps N entries of its log and no end.
func sittingCommand(ts *testscript.TestScript, neg bool, args []string) {
	flags := flag.NewFlagSet("sitting", flag.ContinueOnError)
	made := made{data: ts.Getenv("HORNLARK_DATA")}
	flags.StringVar(&made.trainee, "trainee", "", "")
	flags.StringVar(&made.version, "version", "development", "")
	flags.IntVar(&made.killed, "killed", 0, "")
	flags.StringVar(&made.policy, "policy", "", "")
	answers := flags.String("answers", "", "")
	started := flags.String("started", "2026-04-02T09:30:00.123456789Z", "")
	ts.Check(flags.Parse(args))
	made.scenario = flags.Arg(0)
	if strings.Contains(made.scenario, ".") {
		made.scenario = ts.MkAbs(made.scenario)
	}
	if *answers != "" {
		var err error
		made.answers, err = library.ReadAnswers(ts.MkAbs(*answers))
		ts.Check(err)
	}
	var err error
	made.started, err = time.Parse(time.RFC3339Nano, *started)
	ts.Check(err)
	ts.Check(made.keep())
}

// made is a sitting that a test makes.
type made struct {
	data, scenario, trainee, version, policy string
	answers                                  *scenario.Answers // nil: perfect
	started                                  time.Time
	killed                                   int
}

func (m *made) keep() error {
	o := &drillOptions{streams: streams{err: os.Stderr}, scenario: m.scenario, policy: m.policy, virtual: true, seed: 7, seedSet: true, answers: scenario.Perfect, layout: "qwerty"}
	if strings.Contains(m.scenario, ".") {
		o.own = []string{filepath.Dir(m.scenario)}
	}
	ex, err := o.exercise()
	if err != nil {
		return err
	}
	if m.answers != nil {
		ex.Answers = m.answers
	}
	if err := ex.RunVirtual(context.Background(), desk.Virtual{}); err != nil {
		return err
	}
	store, err := record.Open(filepath.Join(m.data, "hornlark.db"))
	if err != nil {
		return err
	}
	sitting := ex.Record()
	sitting.Trainee, sitting.Started, sitting.Version, sitting.Layout = m.trainee, m.started, m.version, "qwerty"
	w, err := store.Begin(sitting)
	if err != nil {
		return err
	}
	for i, e := range ex.Log {
		if m.killed > 0 && i == m.killed {
			break
		}
		if in := inputOf(e); in != nil {
			w.Input(e.At, drill.EncodeEvent(in))
		}
		w.Append(e)
	}
	if m.killed > 0 {
		return m.abandon(store, w)
	}
	result := ex.Judge()
	body, err := json.Marshal(result)
	if err != nil {
		return err
	}
	if err := w.End(body, true, desk.DigestOf(result)); err != nil {
		return err
	}
	return store.Close()
}

// abandon waits until what there is has been stored, and leaves it at that.
func (m *made) abandon(store *record.Store, w *record.Writer) error {
	for deadline := time.Now().Add(10 * time.Second); time.Now().Before(deadline); time.Sleep(10 * time.Millisecond) {
		if log, err := store.Log(w.ID()); err == nil && len(log) == m.killed {
			w.Abandon()
			return store.Close()
		}
	}
	return fmt.Errorf("the sitting was not stored")
}

// inputOf gives what was put into a sitting that was never paused, by its entry in the log; nil if nothing was.
func inputOf(e logbook.Entry) drill.Event {
	switch {
	case e.Kind == logbook.Press && e.Seat == logbook.Trainee:
		press, err := drill.ParsePress(e.Key)
		must(err)
		return press
	case e.Kind == logbook.Heard && e.Why == "":
		return drill.Heard{Cue: e.Cue, Onset: e.Onset, End: e.Until}
	}
	return nil
}

// lacksCommand fails if a text is in any file below a folder: lacks FOLDER TEXT.
func lacksCommand(ts *testscript.TestScript, neg bool, args []string) {
	files, found := 0, ""
	ts.Check(filepath.WalkDir(ts.MkAbs(args[0]), func(path string, entry os.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		files++
		body, err := os.ReadFile(path)
		if strings.Contains(string(body), args[1]) {
			found = path
		}
		return err
	}))
	switch {
	case files == 0:
		ts.Fatalf("there are no files in %s", args[0])
	case found != "" && !neg:
		ts.Fatalf("%s has %q in it", found, args[1])
	case found == "" && neg:
		ts.Fatalf("nothing in %s has %q in it", args[0], args[1])
	}
}

// damageCommand changes what must not be changed, behind the program's back: damage SQL.
func damageCommand(ts *testscript.TestScript, neg bool, args []string) {
	db := openPlain(filepath.Join(ts.Getenv("HORNLARK_DATA"), "hornlark.db"))
	defer db.Close()
	for _, statement := range args {
		_, err := db.ExecContext(context.Background(), statement)
		ts.Check(err)
	}
}

// openPlain opens a database without any of the program's care.
func openPlain(path string) *sql.DB {
	db, err := sql.Open("sqlite", "file:"+path+"?_pragma=busy_timeout(2000)")
	must(err)
	return db
}

// A sitting that was paused, left unanswered and stopped is the same when it is gone through again.
func TestReplayOfPausesAndAStop(t *testing.T) {
	o := &drillOptions{streams: streams{err: os.Stderr}, scenario: "first-start", answers: scenario.Perfect, virtual: true, seed: 7, seedSet: true, layout: "qwerty"}
	ex, err := o.exercise()
	if err != nil {
		t.Fatal(err)
	}
	s, _, err := ex.Sit(desk.VirtualLead)
	if err != nil {
		t.Fatal(err)
	}
	k := &keptSitting{&desk.Kept{Ex: ex}}
	k.Lead, k.State, k.LogVersion = desk.VirtualLead, record.Stopped, logbook.Version
	put := func(at time.Duration, e drill.Event) {
		k.Inputs = append(k.Inputs, drill.Stored{At: at, Event: e})
		if err := s.Input(at, e); err != nil {
			t.Fatal(err)
		}
	}
	hold := drill.Press{Key: drill.Hold}
	put(3*time.Second, hold)
	put(8333333333*time.Nanosecond, hold)
	put(9*time.Second, drill.Press{Key: drill.Yes})
	put(12*time.Second, hold)
	put(12100*time.Millisecond, hold)
	put(40*time.Second, drill.SoundHealth{Why: "a test"})
	put(60*time.Second, drill.Stop{Why: "a test"})
	for _, out := range s.Outputs() {
		ex.Take(out)
	}
	body, err := json.Marshal(ex.Judge())
	if err != nil {
		t.Fatal(err)
	}
	k.Result = body
	if got := k.Lasted(); got < 60*time.Second-time.Microsecond || got > 60*time.Second+time.Microsecond {
		t.Errorf("lasted %v; wanted 60 s", got)
	}
	var b strings.Builder
	if err := k.replay(t.Context(), streams{out: &b, err: os.Stderr}, &output{}); err != nil || !strings.Contains(b.String(), "nothing differs") {
		t.Errorf("%v\n%s", err, b.String())
	}
	// Had it been killed, half of its log would be as good.
	k.Ex.Log, k.State, k.Result = k.Ex.Log[:len(k.Ex.Log)/2], record.Unended, nil
	if err := k.replay(t.Context(), streams{out: &b, err: os.Stderr}, &output{}); err != nil {
		t.Errorf("%v\n%s", err, b.String())
	}
}

// On a terminal, only the word yes deletes anything.
func TestForgetAsks(t *testing.T) {
	settled(t)
	data := t.TempDir()
	t.Setenv("HORNLARK_DATA", data)
	if err := (&made{data: data, scenario: "limits", trainee: "kim", started: time.Now()}).keep(); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		answer string
		status int
	}{{"", exitOther}, {"no\n", exitOther}, {"y\n", exitOther}, {"yes\n", exitPassed}} {
		var out, problems strings.Builder
		status := run(t.Context(), []string{"forget", "kim"}, streams{in: strings.NewReader(c.answer), out: &out, err: &problems, terminal: true})
		if status != c.status || !strings.Contains(out.String(), "Type yes") {
			t.Errorf("%q: exit status %d\n%s%s", c.answer, status, &out, &problems)
		}
	}
}

// The file has a click where each key was pressed, each phrase where it was heard, and nothing before.
func TestWAVIsWhatWasHeard(t *testing.T) {
	settled(t)
	data := t.TempDir()
	t.Setenv("HORNLARK_DATA", data)
	if err := (&made{data: data, scenario: "limits", started: time.Now()}).keep(); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "sitting.wav")
	var out strings.Builder
	if status := run(t.Context(), []string{"replay", "--wav", path}, streams{out: &out, err: os.Stderr}); status != exitPassed {
		t.Fatalf("exit status %d\n%s", status, &out)
	}
	body, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	pcm := body[44:] // after the header of a plain WAV file
	loudest := func(from, to time.Duration) (peak int) {
		for i := int(audio.Frames(from)); i < int(audio.Frames(to)) && 2*i+1 < len(pcm); i++ {
			peak = max(peak, abs(int(int16(binary.LittleEndian.Uint16(pcm[2*i:])))))
		}
		return peak
	}
	store, err := openRecords(streams{err: os.Stderr})
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	inputs, err := store.Inputs(1)
	if err != nil {
		t.Fatal(err)
	}
	first := inputs[0].At
	full := math.Pow(10, audio.DefaultLevel/20) // nobody has set the level
	presses, phrases := 0, 0
	for _, in := range inputs {
		event, err := drill.DecodeEvent(in.Body)
		if err != nil {
			t.Fatal(err)
		}
		switch e := event.(type) {
		case drill.Press:
			presses++
			if peak := loudest(in.At, in.At+time.Millisecond); float64(peak) < 2000*full {
				t.Errorf("at %v: %d where a key was pressed", in.At, peak)
			}
		case drill.Heard:
			phrases++
			first = min(first, e.Onset)
			if peak := loudest(e.Onset, e.Onset+500*time.Millisecond); float64(peak) < 1000*full {
				t.Errorf("at %v: %d where a phrase was heard", e.Onset, peak)
			}
		}
	}
	if presses < 12 || phrases < 12 {
		t.Errorf("%d keys and %d phrases", presses, phrases)
	}
	if before := loudest(0, first-time.Millisecond); before != 0 {
		t.Errorf("%d before anything was heard", before)
	}
}

func abs(v int) int { return max(v, -v) }
