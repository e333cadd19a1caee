package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"path/filepath"
	"testing"
	"time"

	"hornlark/drill/record"
)

// The history that the benchmarks look back on: some years of a busy school.
const (
	historySittings = 5000
	historyEvents   = 1_000_000
)

// BenchmarkHistory times whole commands, from their arguments to their last byte, over 5,000 sittings with 1,000,000
// events. progress is to take less than 150 ms, debrief less than 300.
func BenchmarkHistory(b *testing.B) {
	folder := b.TempDir()
	if err := makeHistory(folder, historySittings); err != nil {
		b.Fatal(err)
	}
	b.Setenv("HORNLARK_DATA", folder)
	for _, c := range []struct {
		name string
		args []string
	}{
		{"progress", []string{"progress"}},
		{"progress-of-one", []string{"progress", "--trainee", "trainee 3"}},
		{"debrief", []string{"debrief"}},
		{"replay", []string{"replay"}},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				var out, problems bytes.Buffer
				status := run(context.Background(), c.args, streams{in: &bytes.Buffer{}, out: &out, err: &problems})
				if status != exitPassed || out.Len() == 0 {
					b.Fatalf("exit status %d: %s", status, problems.Bytes())
				}
			}
		})
	}
}

// makeHistory multiplies one real sitting, with most of its log left out, into a history whose last sitting is whole.
func makeHistory(folder string, sittings int) error {
	one := made{data: filepath.Join(folder, "one"), scenario: "first-start", trainee: "kim", version: "test", started: time.Date(2020, 1, 1, 8, 0, 0, 0, time.UTC)}
	if err := one.keep(); err != nil {
		return err
	}
	store, err := record.Open(filepath.Join(one.data, "hornlark.db"))
	if err != nil {
		return err
	}
	var exported bytes.Buffer
	if _, err := store.Export(&exported, record.Filter{}, "", nil); err != nil {
		return err
	}
	if err := store.Close(); err != nil {
		return err
	}
	in, out := io.Pipe()
	go func() { out.CloseWithError(multiply(out, exported.Bytes(), sittings)) }()
	if store, err = record.Open(filepath.Join(folder, "hornlark.db")); err != nil {
		return err
	}
	if _, err := store.Import(in, importChecks()); err != nil {
		return err
	}
	return store.Close()
}

func multiply(out io.Writer, exported []byte, sittings int) error {
	var file struct {
		Plans    json.RawMessage
		Sittings []map[string]json.RawMessage
	}
	if err := json.Unmarshal(exported, &file); err != nil {
		return err
	}
	sitting := file.Sittings[0]
	var log []json.RawMessage
	if err := json.Unmarshal(sitting["log"], &log); err != nil {
		return err
	}
	whole := sitting["log"]
	part, err := json.Marshal(log[:historyEvents/historySittings])
	if err != nil {
		return err
	}
	fmt.Fprintf(out, `{"format": "hornlark-records", "version": 1, "plans": %s, "sittings": [`, file.Plans)
	comma := ""
	for i := range sittings {
		sitting["uid"] = fmt.Appendf(nil, `"HISTORY%d"`, i)
		sitting["trainee"] = fmt.Appendf(nil, `"trainee %d"`, i%10)
		sitting["scenario"] = fmt.Appendf(nil, `"scenario-%d"`, i%7)
		sitting["started"] = fmt.Appendf(nil, "%q", time.Date(2020, 1, 1, i, 0, 0, 0, time.UTC).Format(time.RFC3339))
		sitting["log"] = part
		if i == sittings-1 {
			sitting["log"] = whole
		}
		body, err := json.Marshal(sitting)
		if err != nil {
			return err
		}
		if _, err := fmt.Fprintf(out, "%s\n%s", comma, body); err != nil {
			return err
		}
		comma = ","
	}
	_, err = fmt.Fprint(out, "]}")
	return err
}
