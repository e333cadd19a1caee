//go:build unix

package main

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"hornlark/cmd/hornlark/screen"
	"hornlark/drill/library"
	"hornlark/drill/procedure"
)

// mm is a millimetre in points of PDF, 72 to the inch.
const mm = 72 / 25.4

// papers are the sizes of ISO 216, in millimetres, upright.
var papers = map[string][2]float64{"a5": {148, 210}, "a4": {210, 297}}

// print has a browser print a page, and gives the text of each sheet without blanks, which may be anywhere where a line is broken.
// It looks at the size of the sheets, at what stands on each of them, and whether every word lies within the margins.
func printed(t *testing.T, args []string, size string, lies bool, onEach ...string) []string {
	t.Helper()
	name := strings.Join(args, " ")
	folder := t.TempDir()
	page, pdf := filepath.Join(folder, "page.html"), filepath.Join(folder, "page.pdf")
	var said bytes.Buffer
	if status := run(t.Context(), append(args, "--size", size, "--out", page), streams{out: &said, err: &said}); status != exitPassed {
		t.Fatalf("%s: status %d: %s", name, status, &said)
	}
	browser := exec.CommandContext(t.Context(), "chromium", "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer", "--print-to-pdf="+pdf, page)
	if out, err := browser.CombinedOutput(); err != nil {
		t.Fatalf("%s: %v\n%s", name, err, out)
	}
	boxes, err := exec.CommandContext(t.Context(), "pdftotext", "-bbox", pdf, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	wide, high := papers[size][0], papers[size][1]
	if lies {
		wide, high = high, wide
	}
	figure := func(text string) float64 { v, _ := strconv.ParseFloat(text, 64); return v / mm }
	for _, m := range regexp.MustCompile(`<page width="([0-9.]+)" height="([0-9.]+)">`).FindAllStringSubmatch(string(boxes), -1) {
		if math.Abs(figure(m[1])-wide) > 0.5 || math.Abs(figure(m[2])-high) > 0.5 {
			t.Errorf("%s: a sheet is %.1f mm by %.1f mm, want %g by %g (ISO 216)", name, figure(m[1]), figure(m[2]), wide, high)
		}
	}
	words := regexp.MustCompile(`<word xMin="([-0-9.]+)" yMin="([-0-9.]+)" xMax="([-0-9.]+)" yMax="([-0-9.]+)">(.*?)</word>`).FindAllStringSubmatch(string(boxes), -1)
	if len(words) < 20 {
		t.Errorf("%s: only %d words are on it", name, len(words))
	}
	for _, m := range words {
		const margin = 3
		if figure(m[1]) < margin || figure(m[2]) < margin || figure(m[3]) > wide-margin || figure(m[4]) > high-margin {
			t.Errorf("%s: %q is cut off, or nearly", name, m[5])
		}
	}
	text, err := exec.CommandContext(t.Context(), "pdftotext", "-raw", pdf, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	sheets := strings.Split(strings.TrimSuffix(string(text), "\f"), "\f")
	for i := range sheets {
		sheets[i] = solid(sheets[i])
		for _, want := range append(onEach, "Not approved for operational use.", "Edition", fmt.Sprintf("%d / %d", i+1, len(sheets))) {
			if !strings.Contains(sheets[i], solid(want)) {
				t.Errorf("%s: sheet %d of %d has no %q", name, i+1, len(sheets), want)
			}
		}
	}
	return sheets
}

// solid is a text without its blanks, and with the characters that a PDF has for its ligatures in single letters.
func solid(text string) string {
	text = strings.NewReplacer("ﬁ", "fi", "ﬂ", "fl", "ﬀ", "ff", "ﬃ", "ffi", "ﬄ", "ffl").Replace(text)
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return -1
		}
		return r
	}, text)
}

// reader goes through printed sheets from one text to the next.
type reader struct {
	t      *testing.T
	name   string
	sheets []string
	sheet  int
	at     int
}

// next finds a text behind the last one, and reports on which sheet.
func (r *reader) next(text string) int {
	r.t.Helper()
	for i := r.sheet; i < len(r.sheets); i++ {
		from := 0
		if i == r.sheet {
			from = r.at
		}
		if found := strings.Index(r.sheets[i][from:], solid(text)); found >= 0 {
			r.sheet, r.at = i, from+found+len(solid(text))
			return i
		}
	}
	r.t.Errorf("%s: %q is not on the paper, or not in its place", r.name, text)
	return r.sheet
}

// What is printed has the size that was asked for, every text of it in order and uncut, each item on one sheet, and name, edition, number
// and caution on each. Unless HORNLARK_PRINT asks for everything that is built in on every size, it is one card.
func TestPrinted(t *testing.T) {
	for _, program := range []string{"chromium", "pdftotext"} {
		if _, err := exec.LookPath(program); err != nil {
			t.Skip(program + " is not there: nothing is printed")
		}
	}
	t.Parallel()
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	all := os.Getenv("HORNLARK_PRINT") != ""
	sizes := []string{"a5", "a4"}
	if !all {
		sizes = sizes[:1]
	}
	count := 0
	for _, size := range sizes {
		for _, proc := range lib.Procedures() {
			if !all && proc.Name != "turnstone-start" {
				continue
			}
			r := reader{t: t, name: proc.Name + " on " + size, sheets: printed(t, []string{"paper", "procedure", proc.Name}, size, false, proc.Title)}
			count += len(r.sheets)
			no := 0
			proc.Each(func(_ *procedure.Phase, it *procedure.Item) {
				no++
				first := r.next(fmt.Sprint(no) + it.Challenge)
				if last := r.next(it.Response); last != first {
					t.Errorf("%s: item %d is broken", r.name, no)
				}
			})
		}
		for _, prof := range lib.Profiles() {
			for _, layout := range screen.Layouts() {
				if !all {
					break
				}
				args := []string{"paper", "keyboard", prof.Name, "--keyboard", string(layout)}
				sheets := printed(t, args, size, true, prof.Title)
				count += len(sheets)
				r := reader{t: t, name: strings.Join(args, " "), sheets: sheets, sheet: 1}
				for i := range prof.Controls {
					c := &prof.Controls[i]
					if !strings.Contains(sheets[0], strings.ReplaceAll(c.Name, " ", "")) {
						t.Errorf("%v: the drawing has no %s", args, c.Name)
					}
					for _, position := range []int{0, c.Count() - 1} {
						if !strings.Contains(strings.Join(sheets[1:], ""), solid(c.Label(position))) {
							t.Errorf("%v: %s has no %s", args, c.Name, c.Label(position))
						}
					}
				}
				r.next("All positions")
				if strings.Contains(sheets[0], "Allpositions") {
					t.Errorf("%v: the drawing does not fill a sheet of its own", args)
				}
			}
		}
		for _, s := range lib.Scenarios() {
			if !all {
				break
			}
			r := reader{t: t, name: s.Name + " on " + size}
			r.sheets = printed(t, []string{"paper", "key", s.Name, "--seed", "7"}, size, false, "FOR THE INSTRUCTOR", "seed 7")
			count += len(r.sheets)
			policy, _ := s.Rules("")
			if proc, err := lib.Procedure(s.Procedure); err == nil && policy.Flow == 0 && len(s.Phases) == 0 {
				r.next("Every right answer")
				no := 0
				proc.Each(func(_ *procedure.Phase, it *procedure.Item) { no++; r.next(fmt.Sprint(no) + it.Challenge) })
			}
		}
	}
	t.Logf("%d sheets", count)
}
