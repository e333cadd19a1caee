package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// previewed runs a preview and gives what it wrote.
func previewed(t *testing.T, args ...string) string {
	t.Helper()
	var out, told bytes.Buffer
	if status := run(context.Background(), append([]string{"preview"}, args...), streams{in: &bytes.Buffer{}, out: &out, err: &told}); status != exitPassed || told.Len() > 0 {
		t.Fatalf("%q: status %d: %s", args, status, told.String())
	}
	return out.String()
}

// What is told is the same, byte for byte, whatever the number of workers, and so are the lines of the file.
func TestPreviewWorkers(t *testing.T) {
	var texts, tables, lines []string
	for _, workers := range []string{"1", "8"} {
		file := filepath.Join(t.TempDir(), "sittings.jsonl")
		common := []string{"testdata/short/hover-scenario.yaml", "--with", "testdata/short", "--runs", "12", "--seed", "3", "--workers", workers}
		texts = append(texts, previewed(t, common...))
		tables = append(tables, previewed(t, append(common, "--json", "--save", file)...))
		saved, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		lines = append(lines, string(saved))
	}
	if texts[0] != texts[1] || tables[0] != tables[1] || lines[0] != lines[1] {
		t.Errorf("one worker and eight differ:\n%s\n%s", texts[0], texts[1])
	}
	if n := strings.Count(lines[0], "\n"); n != 12 {
		t.Errorf("%d lines for 12 sittings", n)
	}
	for _, line := range strings.Split(texts[0], "\n") {
		if len([]rune(line)) > reportWidth {
			t.Errorf("wider than %d: %s", reportWidth, line)
		}
	}
}

// counted is what a program of somebody else's makes of the saved lines: it reads plain JSON, and shares no code with the preview.
type counted struct {
	runs, passed           int
	unmet, alone           map[string]int
	came, noticed, handled map[string]int
	sittings               map[string]map[int]bool
	items                  map[string]int
	shortest, longest      float64
}

func countLines(t *testing.T, path string) counted {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	c := counted{
		unmet: map[string]int{}, alone: map[string]int{}, came: map[string]int{}, noticed: map[string]int{}, handled: map[string]int{},
		sittings: map[string]map[int]bool{}, items: map[string]int{}, shortest: math.Inf(1),
	}
	scan := bufio.NewScanner(f)
	scan.Buffer(nil, 1<<20)
	for scan.Scan() {
		var line map[string]any
		if err := json.Unmarshal(scan.Bytes(), &line); err != nil {
			t.Fatal(err)
		}
		c.runs++
		if line["passed"] == true {
			c.passed++
		}
		length := line["length_s"].(float64)
		c.shortest, c.longest = min(c.shortest, length), max(c.longest, length)
		for _, one := range line["criteria"].([]any) {
			if criterion := one.(map[string]any); criterion["met"] != true {
				c.unmet[criterion["name"].(string)]++
			}
		}
		for _, one := range line["wrong"].([]any) {
			c.items[one.(map[string]any)["item"].(string)]++
		}
		for _, one := range line["injections"].([]any) {
			in := one.(map[string]any)
			name := in["abnormal"].(string)
			if c.sittings[name] == nil {
				c.sittings[name] = map[int]bool{}
			}
			c.sittings[name][c.runs] = true
			c.came[name]++
			if in["shown"] == true && in["noticed"] == true {
				c.noticed[name]++
			}
			if o := in["outcome"]; o == "handled" || o == "left-alone" {
				c.handled[name]++
			}
		}
	}
	return c
}

// Somebody else who counts the saved lines comes to the same figures, and to the interval of Wilson (1927) by its formula.
func TestPreviewCountedByOthers(t *testing.T) {
	file := filepath.Join(t.TempDir(), "sittings.jsonl")
	runs := 24
	if n, err := strconv.Atoi(os.Getenv("HORNLARK_PREVIEWS")); err == nil {
		runs = n
	}
	told := previewed(t, "cold-morning", "--runs", strconv.Itoa(runs), "--trainee", "novice", "--json", "--save", file)
	var out struct {
		Runs   int
		Passed struct {
			Count, Of int
			Low, High float64
		}
		Reasons []struct {
			Name     string
			Want     string
			Sittings struct{ Count int }
		}
		Abnormals []struct {
			Name     string
			Times    int
			Sittings struct{ Count int }
			Noticed  struct{ Count int }
			Handled  struct{ Count int }
		}
		Items []struct {
			Item  string
			Wrong struct{ Count int }
		} `json:"hardest_items"`
		Length struct{ Least, Most float64 } `json:"length_s"`
	}
	if err := json.Unmarshal([]byte(told), &out); err != nil {
		t.Fatal(err)
	}
	c := countLines(t, file)
	if out.Runs != c.runs || out.Passed.Count != c.passed || out.Passed.Of != c.runs {
		t.Errorf("passed %d of %d; counted %d of %d", out.Passed.Count, out.Passed.Of, c.passed, c.runs)
	}
	// (p + z²/2n ± z √(p(1-p)/n + z²/4n²)) / (1 + z²/n)
	n, p, z := float64(c.runs), float64(c.passed)/float64(c.runs), 1.959964
	mid, half := p+z*z/(2*n), z*math.Sqrt(p*(1-p)/n+z*z/(4*n*n))
	if math.Abs(out.Passed.Low-(mid-half)/(1+z*z/n)) > 1e-6 || math.Abs(out.Passed.High-(mid+half)/(1+z*z/n)) > 1e-6 {
		t.Errorf("interval %v to %v", out.Passed.Low, out.Passed.High)
	}
	if math.Abs(out.Length.Least-c.shortest) > 0.06 || math.Abs(out.Length.Most-c.longest) > 0.06 {
		t.Errorf("length %v to %v; counted %v to %v", out.Length.Least, out.Length.Most, c.shortest, c.longest)
	}
	for _, r := range out.Reasons {
		if r.Want != "" && r.Sittings.Count != c.unmet[r.Name] {
			t.Errorf("%s: not met in %d; counted %d", r.Name, r.Sittings.Count, c.unmet[r.Name])
		}
	}
	if len(out.Abnormals) == 0 || len(out.Abnormals) != len(c.came) {
		t.Errorf("%d abnormals; counted %d", len(out.Abnormals), len(c.came))
	}
	for _, a := range out.Abnormals {
		if a.Times != c.came[a.Name] || a.Sittings.Count != len(c.sittings[a.Name]) || a.Noticed.Count != c.noticed[a.Name] || a.Handled.Count != c.handled[a.Name] {
			t.Errorf("%+v; counted %d times, in %d sittings, %d noticed, %d handled", a, c.came[a.Name], len(c.sittings[a.Name]), c.noticed[a.Name], c.handled[a.Name])
		}
	}
	for _, it := range out.Items {
		if it.Wrong.Count != c.items[it.Item] {
			t.Errorf("%s: %d; counted %d", it.Item, it.Wrong.Count, c.items[it.Item])
		}
	}
}

// A stand-in is made like a trainee of the records, and says on how much that rests; where there are none of that name it is told who there is.
func TestPreviewLike(t *testing.T) {
	data := t.TempDir()
	t.Setenv("HORNLARK_DATA", data)
	for i := range 2 {
		one := made{data: data, scenario: filepath.Join("testdata", "short", "start-scenario.yaml"), trainee: "kim", version: "test", started: time.Now().Add(time.Duration(i) * time.Minute)}
		if err := one.keep(); err != nil {
			t.Fatal(err)
		}
	}
	text := previewed(t, "testdata/short/start-scenario.yaml", "--with", "testdata/short", "--runs", "2", "--like", "kim")
	for _, want := range []string{"stand-in like kim", "A STAND-IN LIKE kim rests on", "has a weight of"} {
		if !strings.Contains(strings.Join(strings.Fields(text), " "), want) {
			t.Errorf("it does not say %q:\n%s", want, text)
		}
	}
	var out struct {
		Trainee struct{ Name string }
		Like    struct {
			Sittings, Reactions int
			Pace                float64
			Weight              float64 `json:"reaction_weight"`
		}
	}
	if err := json.Unmarshal([]byte(previewed(t, "testdata/short/start-scenario.yaml", "--with", "testdata/short", "--runs", "1", "--like", "kim", "--json")), &out); err != nil {
		t.Fatal(err)
	}
	// Who answers perfectly from paper takes 0.7 s, or 1.3 s over a look: faster than the typical stand-in.
	if l := out.Like; out.Trainee.Name != "like kim" || l.Sittings != 2 || l.Reactions < 4 || l.Weight <= 0 || l.Weight >= 1 || l.Pace >= 1 || l.Pace < 0.4 {
		t.Errorf("%+v", out)
	}
	var told bytes.Buffer
	if status := run(context.Background(), []string{"preview", "limits", "--like", "kin"}, streams{in: &bytes.Buffer{}, out: &told, err: &told}); status != exitUsage || !strings.Contains(told.String(), `did you mean "kim"`) {
		t.Errorf("status %d: %s", status, told.String())
	}
}
