// Command tally reads what "go test -json" says on standard input, shows what somebody has to look at, and counts.
//
// Its last line is the count: tests at every level, each once. It exits with 1 if anything failed.
package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
)

func main() {
	t := newTally(os.Stdout)
	if err := t.read(os.Stdin); err != nil {
		fmt.Fprintln(os.Stderr, "tally:", err)
		os.Exit(1)
	}
	t.sum()
	if t.failed > 0 {
		os.Exit(1)
	}
}

// event is a line of "go test -json"; "go doc test2json" describes it.
type event struct {
	Action     string
	Package    string
	ImportPath string // of a build
	Test       string
	Output     string
	Elapsed    float64
}

// name is what an event is about.
type name struct{ pkg, test string }

// tally is the count so far.
type tally struct {
	out                     io.Writer
	passed, failed, skipped int
	output                  map[name]*strings.Builder
	running                 []name
	broken                  map[string]bool // packages in which a test has failed
	reasons                 []string        // why tests were skipped
}

func newTally(out io.Writer) *tally {
	return &tally{out: out, output: map[name]*strings.Builder{}, broken: map[string]bool{}}
}

// read takes the events. A line that is none is shown as it is: it comes from the go command itself.
func (t *tally) read(in io.Reader) error {
	lines := bufio.NewReader(in)
	for {
		line, err := lines.ReadBytes('\n')
		if len(line) > 0 {
			var e event
			if json.Unmarshal(line, &e) == nil && e.Action != "" {
				t.take(e)
			} else {
				t.out.Write(line)
			}
		}
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
	}
}

func (t *tally) take(e event) {
	if e.Test == "" {
		t.takePackage(e)
		return
	}
	n := name{e.Package, e.Test}
	switch e.Action {
	case "run":
		t.running = append(t.running, n)
	case "output":
		t.keep(n, e.Output)
	case "pass":
		t.passed++
		t.done(n)
	case "skip":
		t.skipped++
		t.reasons = append(t.reasons, fmt.Sprintf("%s %s: %s", e.Package, e.Test, reason(t.done(n))))
	case "fail":
		t.failed++
		t.broken[e.Package] = true
		fmt.Fprint(t.out, t.done(n))
	}
}

// takePackage takes the events of a package as a whole. One that fails without a test that failed (it does not build,
// or its process was ended) counts as a test.
func (t *tally) takePackage(e event) {
	switch e.Action {
	case "build-output":
		fmt.Fprint(t.out, e.Output)
	case "output":
		t.keep(name{pkg: e.Package}, e.Output)
	case "pass":
		fmt.Fprintf(t.out, "ok    %-36s %6.1f s\n", e.Package, e.Elapsed)
	case "fail":
		fmt.Fprintf(t.out, "FAIL  %-36s %6.1f s\n", e.Package, e.Elapsed)
		if t.broken[e.Package] {
			return
		}
		t.failed++
		for _, n := range t.running {
			if n.pkg == e.Package {
				fmt.Fprint(t.out, t.output[n])
			}
		}
		fmt.Fprint(t.out, t.done(name{pkg: e.Package}))
	}
}

func (t *tally) keep(n name, text string) {
	if t.output[n] == nil {
		t.output[n] = new(strings.Builder)
	}
	t.output[n].WriteString(text)
}

// done gives what a test has put out and forgets it.
func (t *tally) done(n name) string {
	text := ""
	if b := t.output[n]; b != nil {
		text = b.String()
	}
	delete(t.output, n)
	t.running = slices.DeleteFunc(t.running, func(r name) bool { return r == n })
	return text
}

// reason finds in the output of a skipped test why it was.
func reason(output string) string {
	var why []string
	for line := range strings.Lines(output) {
		line = strings.TrimSpace(line)
		if line != "" && !strings.HasPrefix(line, "===") && !strings.HasPrefix(line, "---") {
			why = append(why, line)
		}
	}
	if len(why) == 0 {
		return "no reason given"
	}
	return why[len(why)-1]
}

// sum prints why tests were skipped, and the count.
func (t *tally) sum() {
	if len(t.reasons) > 0 {
		fmt.Fprintln(t.out, "\nskipped:")
		for _, r := range t.reasons {
			fmt.Fprintln(t.out, "  "+r)
		}
	}
	fmt.Fprintf(t.out, "\n%d passed, %d failed, %d skipped\n", t.passed, t.failed, t.skipped)
}
