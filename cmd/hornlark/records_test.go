package main

import (
	"context"
	"database/sql"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	_ "modernc.org/sqlite"

	"hornlark/drill"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/record"
	"hornlark/drill/scenario"
)

// TestRecords runs the scripts about the records with the program as it is built.
func TestRecords(t *testing.T) {
	bin := t.TempDir()
	name := "hornlark"
	if runtime.GOOS == "windows" {
		name += ".exe"
	}
	if out, err := exec.Command("go", "build", "-o", filepath.Join(bin, name), ".").CombinedOutput(); err != nil {
		t.Fatalf("build: %v\n%s", err, out)
	}
	modules := os.Getenv("HORNLARK_NODE_MODULES")
	testscript.Run(t, testscript.Params{
		Dir: filepath.Join("testdata", "records"),
		Setup: func(env *testscript.Env) error {
			env.Setenv("PATH", bin+string(os.PathListSeparator)+env.Getenv("PATH"))
			env.Setenv("HORNLARK_DATA", filepath.Join(env.WorkDir, "data"))
			env.Setenv("NODE_PATH", modules)
			env.Setenv("TMPDIR", filepath.Join(env.WorkDir, "tmp"))
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
//	sitting [-trainee NAME] [-answers FILE] [-version V] [-started TIME] [-killed N] [-mode MODE] SCENARIO
//
// -killed N keeps N entries of its log and no end.
func sittingCommand(ts *testscript.TestScript, neg bool, args []string) {
	flags := flag.NewFlagSet("sitting", flag.ContinueOnError)
	made := made{data: ts.Getenv("HORNLARK_DATA")}
	flags.StringVar(&made.trainee, "trainee", "", "")
	flags.StringVar(&made.version, "version", "development", "")
	flags.IntVar(&made.killed, "killed", 0, "")
	flags.StringVar(&made.mode, "mode", "", "")
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
	data, scenario, trainee, version, mode string
	answers                                *scenario.Answers // nil: perfect
	started                                time.Time
	killed                                 int
}

func (m *made) keep() error {
	o := &drillOptions{streams: streams{err: os.Stderr}, scenario: m.scenario, mode: m.mode, virtual: true, answers: scenario.Perfect, layout: "qwerty"}
	if strings.Contains(m.scenario, ".") {
		o.own = []string{filepath.Dir(m.scenario)}
	}
	ex, err := o.exercise()
	if err != nil {
		return err
	}
	if m.answers != nil {
		ex.answers = m.answers
	}
	s, trainee, err := ex.sitting(virtualLead)
	if err != nil {
		return err
	}
	if err := drill.Run(s, trainee, drill.EstimatedLength, ex.keepLog); err != nil {
		return err
	}
	store, err := record.Open(filepath.Join(m.data, "hornlark.db"))
	if err != nil {
		return err
	}
	w, err := store.Begin(record.Sitting{
		Trainee: m.trainee, Scenario: ex.Scenario.Name, Procedure: ex.Procedure.Name, Profile: ex.Profile.Name, Mode: string(ex.mode),
		Seed: ex.seed, Started: m.started, Version: m.version, Plan: record.HashOf(ex.documents), Documents: ex.documents,
		Layout: "qwerty", Lead: virtualLead,
	})
	if err != nil {
		return err
	}
	for i, e := range ex.log {
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
	body, err := json.Marshal(ex.judge())
	if err != nil {
		return err
	}
	if err := w.End(body, true); err != nil {
		return err
	}
	return store.Close()
}

// abandon waits until what there is has been stored, and leaves it at that.
func (m *made) abandon(store *record.Store, w *record.Writer) error {
	for deadline := time.Now().Add(10 * time.Second); time.Now().Before(deadline); time.Sleep(10 * time.Millisecond) {
		if log, err := store.Log(w.ID()); err == nil && len(log) == m.killed {
			return nil
		}
	}
	return fmt.Errorf("the sitting was not stored")
}

// inputOf gives what was put into a sitting that was never paused, by its entry in the log; nil if nothing was.
func inputOf(e logbook.Entry) drill.Event {
	switch {
	case e.Kind == logbook.Press:
		press, err := drill.ParsePress(e.Key)
		must(err)
		return press
	case e.Kind == logbook.Heard && e.Name == "":
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
