package main

import (
	"bytes"
	"context"
	"testing"
	"time"
)

// historySittings is how many sittings the benchmarks look back on, some years of a busy school; of some 170 events each, that is
// 1,000,000.
const historySittings = 6000

// BenchmarkHistory times whole commands, from their arguments to their last byte, over so many sittings, the last of which is a whole
// first start. What is known of the trainees has been brought up to date before, as it is by whatever was asked last.
func BenchmarkHistory(b *testing.B) {
	folder := b.TempDir()
	makeHistory(b, folder, historySittings)
	b.Setenv("HORNLARK_DATA", folder)
	for _, c := range []struct {
		name string
		args []string
	}{
		{"progress", []string{"progress"}},
		{"progress-of-one", []string{"progress", "--trainee", "trainee 3"}},
		{"debrief", []string{"debrief"}},
		{"replay", []string{"replay"}},
		{"tonight", []string{"tonight", "--show", "--trainee", "trainee 3"}},
		{"plan", []string{"plan", "--trainee", "trainee 3", "--by", time.Now().AddDate(0, 0, 30).Format(time.DateOnly)}},
		{"ready", []string{"ready", "--trainee", "trainee 3"}},
	} {
		b.Run(c.name, func(b *testing.B) {
			ask := func() {
				var out, problems bytes.Buffer
				status := run(context.Background(), c.args, streams{in: &bytes.Buffer{}, out: &out, err: &problems})
				if status != exitPassed && c.name != "ready" || out.Len() == 0 {
					b.Fatalf("exit status %d: %s", status, problems.Bytes())
				}
			}
			ask()
			for b.Loop() {
				ask()
			}
		})
	}
}

// makeHistory keeps so many sittings of ten trainees and, as the last one, a whole first start.
func makeHistory(tb testing.TB, folder string, sittings int) {
	tb.Helper()
	keepMany(tb, folder, "hover-evening", 10, sittings-1)
	last := made{data: folder, scenario: "first-start", trainee: "trainee 3", version: "test", started: time.Date(2026, 1, 1, 8, 0, 0, 0, time.UTC)}
	if err := last.keep(); err != nil {
		tb.Fatal(err)
	}
}
