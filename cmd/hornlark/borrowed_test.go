package main

import (
	"bytes"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"hornlark/cmd/hornlark/desk"
	"hornlark/drill/record"
)

// heron is a profile that is laid over the Dunlin LT: without pitot heat.
const heron = `name: heron-lt
title: Heron LT
based_on: dunlin-lt
leave_out: [controls.pitot, captions.pitot_off, systems.electrical.equipment.pitot]
`

func folderOf(t *testing.T, texts map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range texts {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// What is laid over a profile has what was written for that, and it is said what has not, and what goes.
func TestWhatWorksOnAnOverlayIsSaid(t *testing.T) {
	dir := folderOf(t, map[string]string{"heron.yaml": heron})
	status, said := checked(dir)
	for _, want := range []string{
		"heron.yaml: profile heron-lt: nothing is wrong\n  3 of 3 procedures of dunlin-lt work on it: dunlin-auto-start, dunlin-hover, dunlin-start\n",
		"  procedure dunlin-start without pitot_off in item ", "; item pitot; ", "abnormals of dunlin-lt work on it: battery-hot, ",
	} {
		if status != exitPassed || !strings.Contains(said, want) {
			t.Errorf("status %d: %q is not in\n%s", status, want, said)
		}
	}
	_, quiet, _ := inProcess("show", "heron-lt", "--with", dir)
	_, open, _ := inProcess("show", "heron-lt", "--with", dir, "--reveal")
	if !strings.Contains(quiet, "LAID OVER dunlin-lt\n  without controls.pitot, ") || strings.Contains(quiet, "battery-hot") || !strings.Contains(open, "\n  battery-hot  ") {
		t.Errorf("%s\n%s", quiet, open)
	}
	if _, list, _ := inProcess("list", "--with", dir); !strings.Contains(list, "controls, over dunlin-lt  Heron LT") {
		t.Error(list)
	}
}

// Everything that goes by an aircraft goes by one that is laid over another: sittings, evenings, plans, readiness, data sheets, traces.
func TestOverlaysArePractised(t *testing.T) {
	t.Setenv("HORNLARK_DATA", t.TempDir())
	dir := folderOf(t, map[string]string{"heron.yaml": heron})
	for _, c := range []struct{ args, says string }{
		{"drill hover-alerts --profile heron-lt --answers perfect --virtual --seed 3", "Heron LT"},
		{"drill first-start --profile heron-lt --phases cockpit --answers perfect --virtual --seed 3", "Heron LT"},
		{"tonight --profile heron-lt --show --nobody", ""},
		{"plan --profile heron-lt --by 2099-01-01 --nobody", ""},
		{"ready --profile heron-lt --trainee nobody-yet", ""},
		{"list controls --profile heron-lt", ""},
		{"draft scenario --procedure dunlin-start --profile heron-lt --abnormal hot-start", "profile: heron-lt "},
		{"draft abnormal --profile heron-lt --failure gen1.failed", "profile: heron-lt"},
	} {
		status, out, said := inProcess(append(strings.Fields(c.args), "--with", dir)...)
		if status == exitUsage && !strings.Contains(said, "no records") && !strings.Contains(said, "days ahead") && !strings.Contains(said, "nobody") || !strings.Contains(out, c.says) {
			t.Errorf("%s: status %d: %s%s", c.args, status, out, said)
		}
	}
	for _, c := range []struct{ args, says string }{
		{"drill hand-start --profile heron-lt --answers perfect --virtual", "heron-lt is neither"},
		{"drill first-start --profile heron-tl --answers perfect --virtual", `did you mean "heron-lt"?`},
		{"drill first-start --profile turnstone-st --answers perfect --virtual", "turnstone-st is neither"},
		{"draft scenario --procedure turnstone-start --profile heron-lt", "heron-lt is neither"},
	} {
		if status, out, said := inProcess(append(strings.Fields(c.args), "--with", dir)...); status != exitUsage || !strings.Contains(said, c.says) || out != "" {
			t.Errorf("%s: status %d: %s%s", c.args, status, out, said)
		}
	}
}

// A sitting that is kept is read and judged again without the files of its profile.
func TestAnOverlayIsJudgedWithoutItsFile(t *testing.T) {
	short, err := os.ReadFile(shortHover)
	if err != nil {
		t.Fatal(err)
	}
	flow, err := os.ReadFile(filepath.Join("testdata", "short", "hover.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	dir := folderOf(t, map[string]string{"heron.yaml": heron, "hover.yaml": string(flow),
		"scenario.yaml": strings.Replace(string(short), "policy: prompted", "profile: heron-lt\npolicy: prompted", 1)})
	p := play(t, filepath.Join(dir, "scenario.yaml"), nil)
	if p.ex.Profile.Name != "heron-lt" {
		t.Fatalf("it was sat on %s", p.ex.Profile.Name)
	}
	store := recordsIn(t, t.TempDir())
	p.keep(t, store, "kim", time.Date(2026, 3, 1, 19, 0, 0, 0, time.UTC), false, false)
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	all, err := store.Sittings(record.Filter{Trainee: "kim"})
	if err != nil || len(all) != 1 {
		t.Fatal(all, err)
	}
	k, err := desk.Load(store, all[0])
	if err != nil {
		t.Fatal(err)
	}
	if got := k.Ex.Judge(); !reflect.DeepEqual(desk.DigestOf(got), desk.DigestOf(p.result)) || !got.Completed || !bytes.Equal(k.Ex.Documents, p.ex.Documents) {
		t.Errorf("it comes to something else: %+v", got)
	}
	if k.Ex.Profile.Title != "Heron LT" || !k.Ex.Profile.Own {
		t.Errorf("%s, own %v", k.Ex.Profile.Title, k.Ex.Profile.Own)
	}
}

// What is drafted, laid over a profile or made of it, passes the check, and has abnormals that work, which are named.
func TestDraftedProfilesHaveAbnormals(t *testing.T) {
	for _, way := range []string{"--based-on", "--like"} {
		for of, some := range map[string]string{"dunlin-lt": "battery-hot, battery-low", "turnstone-st": "turnstone-battery-hot", "whinchat-pt": "whinchat-alternator"} {
			path := filepath.Join(t.TempDir(), "mine.yaml")
			status, _, said := inProcess("draft", "profile", way, of, "--name", "mine", "--out", path)
			if status != exitPassed || !strings.Contains(said, "abnormals of "+of+" work on it: "+some) || strings.Contains(said, "not ") {
				t.Errorf("%s %s: status %d: %s", way, of, status, said)
			}
			if status, said := checked(path); status != exitPassed {
				t.Errorf("%s %s: %s", way, of, said)
			}
			again := filepath.Join(filepath.Dir(path), "again.yaml")
			if status, _, said := inProcess("draft", "profile", way, "mine", "--name", "again", "--with", filepath.Dir(path), "--out", again); status != exitPassed || !strings.Contains(said, "work on it: "+some) {
				t.Errorf("%s mine of %s: status %d: %s", way, of, status, said)
			}
		}
	}
}
