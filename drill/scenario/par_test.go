package scenario_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"hornlark/drill/library"
	"hornlark/drill/scenario"
)

const parScenario = `name: mine
title: Mine
about: With par times.
procedure: dunlin-start
policy: prompted
map: names
weather: {oat: 12, pressure_altitude: 50}
`

// A scenario sets what it wants of the par times; all else is as it is without.
func TestParOfAScenario(t *testing.T) {
	sc := load(t, parScenario+"par: {horn: 1500ms, typed: 8s}\n")
	for class, want := range map[string]time.Duration{
		"horn": 1500 * time.Millisecond, "typed": 8 * time.Second, "speech": scenario.ParSpeech, "caption": scenario.ParCaption,
		"gauge": scenario.ParGauge, "outside": scenario.ParGauge,
	} {
		if got := sc.Par.Of(class); got != want {
			t.Errorf("%s: %v; wanted %v", class, got, want)
		}
	}
	sc = load(t, parScenario+"par: {gauge: 7s}\n")
	for _, class := range []string{"gauge", "outside", "test", "call"} {
		if got := sc.Par.Of(class); got != 7*time.Second {
			t.Errorf("%s: %v; wanted that of a gauge, 7s", class, got)
		}
	}
	if sc = load(t, parScenario+"pass: {within_par: 0.8}\n"); sc.Pass.WithinPar == nil || *sc.Pass.WithinPar != 0.8 {
		t.Errorf("within par: %v", sc.Pass.WithinPar)
	}
	if without := load(t, parScenario); without.Par != nil || without.Par.Of("horn") != scenario.ParHorn {
		t.Errorf("without par times: %+v", without.Par)
	}
}

// What is wrong with par times is told with its place and what to write.
func TestParThatIsWrong(t *testing.T) {
	for _, c := range []struct{ lines, problem string }{
		{"par: {horn: 50ms}", "mine.yaml:8:13: 50ms is out of range; write a time from 100ms to 1m0s"},
		{"par: {horn: 0s}", "mine.yaml:8:13: 0s is out of range; write a time from 100ms to 1m0s"},
		{"par: {gauge: 2m}", "mine.yaml:8:14: 2m0s is out of range; write a time from 100ms to 1m0s"},
		{"par: {horm: 2s}", `mine.yaml:8:7: there is no field "horm" here; did you mean "horn"?`},
		{"par: {horn: 2}", "mine.yaml:8:13: "},
		{"par: {}", "mine.yaml:8:6: no par time is given; write times as in {horn: 2s}, or leave it out"},
		{"pass: {within_par: 1.5}", "mine.yaml:8:20: 1.5 is out of range; write a number from 0 to 1"},
	} {
		t.Run(c.lines, func(t *testing.T) {
			_, err := resolve(t, parScenario+c.lines+"\n")
			if err == nil || !strings.Contains(err.Error(), c.problem) {
				t.Errorf("%v\nwanted %s", err, c.problem)
			}
		})
	}
}

func load(t *testing.T, text string) *scenario.Scenario {
	t.Helper()
	sc, err := resolve(t, text)
	if err != nil {
		t.Fatal(err)
	}
	return sc
}

func resolve(t *testing.T, text string) (*scenario.Scenario, error) {
	t.Helper()
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "mine.yaml")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	if lib, err = lib.With(path); err != nil {
		return nil, err
	}
	b, err := lib.Resolve("mine")
	if err != nil {
		return nil, err
	}
	return b.Scenario, nil
}
