package advice

import (
	"context"
	"fmt"
	"testing"

	"hornlark/drill"
)

// LogsOfSeeds is the logs of healthy runs with some seeds, without their first entry, which has the seed.
func LogsOfSeeds(t *testing.T, docs drill.Documents, seeds ...uint64) (logs []string) {
	t.Helper()
	ex, err := drill.Compile(healthy(docs))
	if err != nil {
		t.Fatal(err)
	}
	for _, seed := range seeds {
		f, err := fly(context.Background(), ex, seed, nil)
		if err != nil {
			t.Fatal(err)
		}
		logs = append(logs, fmt.Sprint(f.log[1:]))
	}
	return logs
}
