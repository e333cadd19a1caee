package screen

import (
	"context"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/ansi"
	"pgregory.net/rapid"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/scenario"
)

var update = flag.Bool("update", false, "write the golden screens anew")

func showing(t testing.TB, o Options, v *drill.View) *sitting {
	t.Helper()
	s := newSitting(o)
	s.show(v)
	return s
}

func TestGoldenScreens(t *testing.T) {
	p := twin(t)
	with := func(change func(o *Options, v *drill.View)) *sitting {
		o, v := options(p), running(p)
		change(&o, v)
		return showing(t, o, v)
	}
	pages := map[string]pageOf{
		"running":  {with(func(*Options, *drill.View) {}), true},
		"troubled": {showing(t, options(p), troubled(p)), true},
		"bare":     {with(func(o *Options, _ *drill.View) { o.Help = scenario.Bare }), true},
		"no-map":   {with(func(o *Options, _ *drill.View) { o.Help, o.Silent = scenario.None, true }), true},
		"azerty":   {with(func(o *Options, _ *drill.View) { o.Layout = AZERTY }), false},
		"reading": {with(func(_ *Options, v *drill.View) {
			v.Typed, v.Asked.Kind, v.Asked.Again = "26.", "read", true
		}), false},
		"keys":        {with(func(_ *Options, v *drill.View) { v.Paused = true }), true},
		"keys-bare":   {with(func(o *Options, v *drill.View) { o.Help, o.Layout, v.Paused = scenario.Bare, AZERTY, true }), false},
		"keys-no-map": {with(func(o *Options, v *drill.View) { o.Help, v.Paused = scenario.None, true }), false},
		"lamp-test": {with(func(_ *Options, v *drill.View) {
			for i := range v.Lit {
				v.Lit[i] = true
			}
		}), false},
		"fixing":         {with(func(_ *Options, v *drill.View) { v.Asked.Fix = true }), false},
		"unshown":        {with(func(_ *Options, v *drill.View) { v.Asked = nil }), false},
		"recall":         {with(byHeart(scenario.Recall)), false},
		"alerts":         {with(byHeart(scenario.Alerts)), true},
		"watch":          {with(func(o *Options, v *drill.View) { o.Policy, v.Last = policy(scenario.Watch), drill.Response{} }), false},
		"nothing":        {showing(t, options(p), &drill.View{}), false},
		"welcome":        {welcoming(""), true},
		"welcome-asking": {welcoming("n"), false},
		"list":           {&listPage{at: 1, list: List{Title: "SITTINGS of kim", Head: "  no  begun", Lines: []string{"   2  Tue 2 Mar", "   1  Mon 1 Mar"}}}, false},
		"report":         {&reportPage{title: "First start at Skerry Sound", lines: reportLines()}, false},
	}
	for name, p := range pages {
		sizes := [][2]int{{80, 24}}
		if p.wide {
			sizes = append(sizes, [2]int{140, 45})
		}
		for _, size := range sizes {
			golden(t, fmt.Sprintf("%s-%dx%d", name, size[0], size[1]), ansi.Strip(shot(p.page, size[0], size[1], false)))
		}
	}
}

// welcoming is a first screen, in which the question of a choice may stand open.
func welcoming(asking string) *welcomePage {
	p := &welcomePage{
		sound: "heard through the default device, 48000 Hz, 21 ms",
		welcome: Welcome{
			Version: "1.0", SoundCheck: func(context.Context) string { return "" }, Act: func(string, string) (Front, bool) { return Front{}, true },
		},
		front: Front{
			Who: "kim sits here.", Next: "Next, 12 min: Set-up to Before start, prompted. Set-up: 61 % known now, 43 % in 7 days.",
			Choices: []Choice{
				{"enter", "tonight: what helps most in 15 min", nil}, {"r", "the sittings: 3", nil},
				{"n", "somebody else sits here", &Ask{Prompt: "Who sits here?", Hint: "Sittings are kept under that name.", Given: "le", Known: []string{"lee"}}},
			},
			Hints: []string{"hornlark list       what else is built in", "hornlark --help     all commands"},
		},
	}
	p.open(asking)
	return p
}

// byHeart is a sitting by a policy that shows neither the challenge nor the place in the flow.
func byHeart(name scenario.PolicyName) func(o *Options, v *drill.View) {
	return func(o *Options, v *drill.View) {
		o.Policy, v.Asked, v.Last = policy(name), nil, drill.Response{}
		v.Phase, v.PhaseNo, v.Phases, v.ItemNo, v.Items = "", 0, 0, 0, 0
	}
}

type pageOf struct {
	page page
	wide bool
}

func reportLines() []string {
	var lines []string
	for i := range 40 {
		lines = append(lines, fmt.Sprintf("  %2d  item                right  %4d ms", i+1, 400+17*i))
	}
	lines[3] += "  and a remark that is much too long for one line of this terminal, so that it has to go on below"
	return lines
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", name+".txt")
	lines := strings.Split(got, "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	got = strings.Join(lines, "\n") + "\n"
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatalf("%v (run the tests with -update to write it)", err)
	}
	if got != string(want) {
		t.Errorf("%s differs from testdata; if that is meant, run with -update\n%s", name, got)
	}
}

// A terminal without colour gets none: SGR parameters 30 to 49 and 90 to 107 are the colours (ECMA-48, 8.3.117, and the
// bright ones that terminals have added).
func TestNoColour(t *testing.T) {
	p := twin(t)
	for _, v := range []*drill.View{running(p), troubled(p)} {
		for _, m := range regexp.MustCompile(`\x1b\[([0-9;]*)m`).FindAllStringSubmatch(shot(showing(t, options(p), v), 140, 45, true), -1) {
			for _, parameter := range strings.Split(m[1], ";") {
				if n, _ := strconv.Atoi(parameter); n >= 30 && n <= 49 || n >= 90 {
					t.Fatalf("a screen without colour asks for %q", m[0])
				}
			}
		}
	}
	if st := (Options{Environ: []string{"NO_COLOR=1"}}); variable(st.Environ, "NO_COLOR") == "" {
		t.Error("NO_COLOR is not seen")
	}
}

// Everything that a colour says is said in letters too. 14 CFR 27.1322 gives the colours of warning, caution and other
// lights, 27.1549 those of limits and precautionary ranges; neither helps whoever cannot tell red from green.
func TestNothingByColourAlone(t *testing.T) {
	p := twin(t)
	for _, size := range [][2]int{{80, 24}, {80, 40}, {140, 45}} {
		got := ansi.Strip(shot(showing(t, options(p), troubled(p)), size[0], size[1], false))
		for _, want := range []string{
			"!ROTOR LOW", "!FIRE 1", "*OIL 1", "+AP OFF", "!LOW ROTOR HORN", "[x] WRONG", "1904 ms", " STOPPED ", "SOMEBODY NEAR", " FIRE 2", " OIL 2",
			"93.2!", "873!", "104*", " 288",
		} {
			if !strings.Contains(got, want) {
				t.Errorf("%v: %q is missing", size, want)
			}
		}
		for _, unmarked := range []string{"288!", "288*", "72.2!", "72.2*", "40*", "!FIRE 2", "*OIL 2"} {
			if strings.Contains(got, unmarked) {
				t.Errorf("%v: there is %q", size, unmarked)
			}
		}
	}
}

// Whatever a view holds and however large the terminal is, the frame has its size: no line is wider, and there are not
// more of them. Widths are measured by the terminal library, not by the code that drew.
func TestFrameHasTheSizeOfTheTerminal(t *testing.T) {
	base := twin(t)
	rapid.Check(t, func(t *rapid.T) {
		text := func(label string) string { return strangeText.Draw(t, label) }
		p := *base
		p.Controls = append([]aircraft.Control(nil), base.Controls...)
		p.Gauges = append([]aircraft.Gauge(nil), base.Gauges...)
		p.Captions = append([]aircraft.Caption(nil), base.Captions...)
		for range rapid.IntRange(0, 3).Draw(t, "names") {
			p.Controls[rapid.IntRange(0, len(p.Controls)-1).Draw(t, "control")].Name = text("name")
			p.Gauges[rapid.IntRange(0, len(p.Gauges)-1).Draw(t, "gauge")].Name = text("name")
			p.Captions[rapid.IntRange(0, len(p.Captions)-1).Draw(t, "caption")].Text = text("text")
		}
		p.Gauges = p.Gauges[:rapid.IntRange(0, len(p.Gauges)).Draw(t, "gauges")]
		for range rapid.IntRange(0, 20).Draw(t, "more gauges") {
			p.Gauges = append(p.Gauges, base.Gauges[0])
		}
		v := running(&p)
		v.At = time.Duration(rapid.Int64Range(-1e10, 1e14).Draw(t, "at"))
		v.Phase, v.Typed = text("phase"), text("typed")
		v.Stopped, v.Asked.Fix = rapid.Bool().Draw(t, "stopped"), rapid.Bool().Draw(t, "fix")
		v.Paused, v.Ended = rapid.Bool().Draw(t, "paused"), rapid.Bool().Draw(t, "ended")
		v.Last.Text = text("last")
		v.Asked.Challenge = text("challenge")
		if rapid.Bool().Draw(t, "unasked") {
			v.Asked = nil
		}
		v.Said = append(v.Said, drill.Line{Who: text("who"), Text: text("said")})
		for i := range v.Readings {
			if rapid.IntRange(0, 5).Draw(t, "odd") == 0 {
				v.Readings[i] = rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e300, 0}).Draw(t, "reading")
			}
		}
		for i := range v.Lit {
			v.Lit[i] = rapid.Bool().Draw(t, "lit")
		}
		if rapid.Bool().Draw(t, "short") {
			v.Readings, v.Lit, v.Positions = v.Readings[:0], v.Lit[:1], nil
		}
		o := options(&p)
		o.Title = text("title")
		o.Help = rapid.SampledFrom([]scenario.Help{scenario.Names, scenario.Bare, scenario.None}).Draw(t, "help")
		o.Layout = rapid.SampledFrom(Layouts()).Draw(t, "layout")
		o.Policy = rapid.SampledFrom(scenario.Policies()).Draw(t, "policy")
		s := newSitting(o)
		s.show(v)
		s.notice = text("notice")
		pages := []page{
			s,
			&welcomePage{front: Front{
				Who: text("who"), Next: text("next"), Notices: []string{text("told")}, Hints: []string{text("hint")}, Choices: []Choice{{"x", text("choice"), nil}},
			}, sound: text("sound")},
			&welcomePage{asked: &Ask{Prompt: text("prompt"), Hint: text("hint")}, answer: []rune(text("answer")), trouble: text("trouble")},
			&listPage{list: List{Title: text("title"), Head: text("head"), Lines: []string{text("line"), strings.Repeat(text("line"), 20)}}},
			&reportPage{title: text("title"), lines: []string{text("line"), strings.Repeat(text("line"), 20)}},
		}
		d := &drawing{
			stage: &stage{page: rapid.SampledFrom(pages).Draw(t, "page")}, canvas: newCanvas(0, 0),
			width: rapid.IntRange(0, 200).Draw(t, "width"), height: rapid.IntRange(0, 60).Draw(t, "height"),
		}
		lines := strings.Split(d.frame(), "\n")
		if len(lines) > max(1, d.height) {
			t.Fatalf("%d lines on a terminal of %d", len(lines), d.height)
		}
		for i, line := range lines {
			if w := ansi.StringWidthWc(line); w > d.width {
				t.Fatalf("line %d takes %d columns of %d: %q", i, w, d.width, line)
			}
			if strings.ContainsFunc(ansi.Strip(line), func(r rune) bool { return r < ' ' || r == 0x7f }) {
				t.Fatalf("line %d has control characters: %q", i, line)
			}
		}
	})
}

// From the least size on, every gauge and every control of the twin has its place.
func TestEverythingFits(t *testing.T) {
	p := twin(t)
	s := showing(t, options(p), troubled(p))
	for _, width := range []int{80, 81, 100, 107, 120, 131, 132, 140, 200} {
		for height := leastHeight; height <= 50; height++ {
			got := ansi.Strip(shot(s, width, height, false))
			for i := range p.Gauges {
				name := p.Gauges[i].Name
				both := strings.TrimRight(name, " 12") // one name for both engines
				if !strings.Contains(got, name+" ") && !strings.Contains(got, both+" ") {
					t.Errorf("%dx%d: no gauge %s", width, height, name)
				}
			}
			if strings.Contains(got, " gauges") {
				t.Errorf("%dx%d: some gauges have no place", width, height)
			}
			lines := strings.Split(got, "\n")
			keys := strings.Join(lines[len(lines)/3:], "")
			for i := range p.Controls {
				if !strings.Contains(keys, QWERTY.Label(drill.Key(p.Controls[i].Key))) {
					t.Errorf("%dx%d: no key %s", width, height, p.Controls[i].Key)
				}
			}
			for i := range p.Captions {
				if s.view.Lit[i] && !strings.Contains(got, p.Captions[i].Text) {
					t.Errorf("%dx%d: no caption %s", width, height, p.Captions[i].Text)
				}
			}
		}
	}
}

// Every caption has a window of its own on every terminal, its text in full, and stays there whatever is lit. No two overlap.
func TestCaptionsHaveTheirPlaces(t *testing.T) {
	p := twin(t)
	s := showing(t, options(p), running(p))
	for _, width := range []int{80, 97, 120, 132, 140, 200} {
		for height := leastHeight; height <= 50; height++ {
			a := s.plan(width, height).captions
			taken := map[[2]int]string{}
			for i, w := range a.windows {
				if w.text != p.Captions[i].Text || w.width < 1+textWidth(w.text) || w.x+w.width > width || w.line >= a.lines {
					t.Errorf("%dx%d: %s has the window %+v", width, height, p.Captions[i].Text, w)
				}
				for x := w.x; x < w.x+w.width; x++ {
					if other := taken[[2]int{x, w.line}]; other != "" {
						t.Errorf("%dx%d: %s stands on %s", width, height, w.text, other)
					}
					taken[[2]int{x, w.line}] = w.text
				}
			}
			if len(a.windows) != len(p.Captions) {
				t.Errorf("%dx%d: %d windows for %d captions", width, height, len(a.windows), len(p.Captions))
			}
		}
	}
	dark := strings.Split(ansi.Strip(shot(s, 80, 24, false)), "\n")
	for i := range s.view.Lit {
		s.view.Lit[i] = true
	}
	for y, line := range strings.Split(ansi.Strip(shot(s, 80, 24, false)), "\n") {
		if unmarked := strings.NewReplacer("!", " ", "*", " ", "+", " "); unmarked.Replace(line) != unmarked.Replace(dark[y]) {
			t.Errorf("with every caption lit line %d is %q, and with none %q", y+1, line, dark[y])
		}
	}
}

// A panel of somebody's own with more captions than have a place still says that there are some.
func TestTooManyCaptions(t *testing.T) {
	p := *twin(t)
	for range 9 {
		p.Captions = append(p.Captions, p.Captions[:min(len(p.Captions), 38)]...)
	}
	v := running(&p)
	for i := range v.Lit {
		v.Lit[i] = true
	}
	s := showing(t, options(&p), v)
	if got := ansi.Strip(shot(s, 80, 24, false)); !strings.Contains(got, "more") || !strings.Contains(got, "Enter yes") || !strings.Contains(got, "ZCOLL") {
		t.Errorf("%d captions give\n%s", len(p.Captions), got)
	}
}

// On the least terminal there is for a twin of the fullest size, 44 controls, 45 captions and 24 gauges, nothing is left out, and
// the keys at the foot are there.
func TestTheFullestPanelFits(t *testing.T) {
	p := *twin(t)
	for _, text := range strings.Fields("TURN.FAIL NOSE.LIFT CARGO.HOT ROTOR.ICE AUX.EMPTY LAMP.TEST DATA.LOST") {
		p.Captions = append(p.Captions, aircraft.Caption{ID: text, Text: strings.ReplaceAll(text, ".", " "), Level: aircraft.Advisory})
	}
	p.Controls = append(p.Controls, aircraft.Control{ID: "clock", Name: "CLOCK", Key: ".", Positions: []string{"zero", "running"}})
	v := running(&p)
	got := ansi.Strip(shot(showing(t, options(&p), v), 80, 24, false))
	for i := range p.Captions {
		if !strings.Contains(got, p.Captions[i].Text) {
			t.Errorf("no caption %s", p.Captions[i].Text)
		}
	}
	if len(p.Captions) != 45 || strings.Contains(got, "more") || strings.Contains(got, "gauges") || !strings.Contains(got, "Esc pause  ? keys") {
		t.Errorf("%d captions give\n%s", len(p.Captions), got)
	}
}

// The map names every control in full where there is room for it.
func TestNamesInFull(t *testing.T) {
	p := twin(t)
	s := showing(t, options(p), running(p))
	words := strings.Fields(ansi.Strip(shot(s, 140, 45, false)))
	for i := range p.Controls {
		for _, word := range strings.Fields(p.Controls[i].Name) {
			if !slices.Contains(words, word) {
				t.Errorf("%s is not named in full", p.Controls[i].Name)
			}
		}
	}
}

// strangeText is what a profile of somebody's own might hold.
var strangeText = rapid.Custom(func(t *rapid.T) string {
	return strings.Join(rapid.SliceOfN(rapid.SampledFrom([]string{
		"A", "NR", " ", "-", "1", "ä", "é", "é", "警告", "ロータ", "🚁", "👩‍✈️", "\x1b[31m", "\n", "\t", "\x00", "\u009b", "\ufeff", "\u202e", "ﷺ", "…",
	}), 0, 12).Draw(t, "text"), "")
})

// What is cut off is marked.
func TestCutIsMarked(t *testing.T) {
	c := newCanvas(10, 1)
	for _, test := range []struct{ text, want string }{
		{"short", "short"}, {"just right", "just right"}, {"rather longer", "rather lo…"}, {"警告警告警告", "警告警告…"},
	} {
		c.resize(10, 1)
		c.text(0, 0, 10, test.text, plain)
		if got := c.String(noColour, false); got != test.want {
			t.Errorf("%q in 10 columns is %q, want %q", test.text, got, test.want)
		}
	}
}

func TestASCIIOnly(t *testing.T) {
	p := twin(t)
	c := newCanvas(140, 45)
	showing(t, options(p), troubled(p)).draw(c)
	if got := c.String(of256, true); strings.ContainsFunc(got, func(r rune) bool { return r > 126 }) {
		t.Errorf("a terminal with nothing but ASCII gets more: %s", got)
	}
	for locale, want := range map[string]bool{"LANG=C": true, "LANG=en_GB.UTF-8": false, "LC_ALL=de_DE.ISO-8859-1": true, "LC_CTYPE=C.utf8": false, "X=": false} {
		if got := onlyASCII([]string{locale}); got != want {
			t.Errorf("%s: only ASCII is %v, want %v", locale, got, want)
		}
	}
}

// A limit is on the scale however short it is: 14 CFR 27.1549 asks for it to be marked.
func TestLimitsStayOnTheScale(t *testing.T) {
	p := twin(t)
	for i := range p.Gauges {
		g := &p.Gauges[i]
		for width := 7; width < 40; width++ {
			c := newCanvas(width, 1)
			drawScale(c, 0, 0, width, g, g.Min-1, true)
			got := c.String(noColour, false)
			for _, b := range g.Bands {
				if char, _ := bandChar(b.Colour); b.Colour == aircraft.Red && b.To == g.Max &&
					!strings.ContainsRune(ansi.Strip(got), char) {
					t.Errorf("%s, %d columns: %q shows no limit", g.ID, width, ansi.Strip(got))
				}
			}
		}
	}
}

func TestShorten(t *testing.T) {
	for _, test := range []struct {
		name  string
		width int
		want  string
	}{
		{"BATTERY", 8, "BATTERY"}, {"BATTERY", 5, "BATT"}, {"GEN 1", 4, "GEN1"}, {"FIRE TEST 2", 6, "FITST2"}, {"PITOT L", 6, "PITOTL"},
		{"ANTI-COLL", 5, "ANCOL"}, {"STBY HORIZON", 9, "STBY HORZ"}, {"A B C D E", 3, "ABE"}, {"X", 0, ""}, {"警告", 3, "警"},
		{"XFER FWD", 6, "XFRFWD"}, {"GUARD 1", 6, "GUARD1"}, {"AVIONICS A", 6, "AVIOA"}, {"COLLECTIVE", 9, "COLL"},
	} {
		if got := shorten(test.name, test.width); got != test.want {
			t.Errorf("shorten(%q, %d) = %q, want %q", test.name, test.width, got, test.want)
		}
	}
}

// The two sides of an aircraft must not be shortened to the same letters.
func TestShortNamesKeepSidesApart(t *testing.T) {
	p := twin(t)
	for width := 3; width < 12; width++ {
		seen := map[string]string{}
		for i := range p.Controls {
			name := p.Controls[i].Name
			short := shorten(name, width)
			if textWidth(short) > width {
				t.Errorf("%s in %d columns is %q", name, width, short)
			}
			other, taken := seen[short]
			if taken && (width > 3 || name[:len(name)-1] == other[:len(other)-1]) {
				t.Errorf("%s and %s are both %s in %d columns", name, other, short, width)
			}
			seen[short] = name
		}
	}
}

func TestTimeBar(t *testing.T) {
	q := &drill.Question{Spoken: 10 * time.Second, Within: 6 * time.Second}
	for _, test := range []struct {
		at   time.Duration
		want string
	}{
		{9 * time.Second, "being asked"}, {10 * time.Second, "[============] 6.0 s left"},
		{13 * time.Second, "[======......] 3.0 s left"}, {16 * time.Second, "[............] 0.0 s left"},
		{17500 * time.Millisecond, "[............] LATE by 1.5 s"},
	} {
		if got := timeBar(q, test.at, false); got != test.want {
			t.Errorf("at %v: %q, want %q", test.at, got, test.want)
		}
	}
	if got := timeBar(&drill.Question{Within: time.Second}, time.Hour, false); got != "being asked" {
		t.Errorf("a question whose end is not known: %q", got)
	}
	if got := timeBar(q, 13*time.Second, true); got != "[===...] 3.0 s" {
		t.Errorf("where there is little room: %q", got)
	}
}

func TestUpdateCopies(t *testing.T) {
	p := twin(t)
	s := &Screen{sitting: newSitting(options(p)), stage: &stage{dirty: make(chan struct{}, 1)}}
	v := troubled(p)
	s.Update(v)
	before := shot(s.sitting, 140, 45, false)
	*v = drill.View{
		Readings: v.Readings, Lit: v.Lit, Said: v.Said, Positions: v.Positions, Bands: v.Bands, Alive: v.Alive, Sounding: v.Sounding, Facts: v.Facts,
	}
	for i := range v.Readings {
		v.Readings[i], v.Bands[i], v.Alive[i] = -1, "", false
	}
	clear(v.Lit)
	clear(v.Said)
	clear(v.Positions)
	clear(v.Sounding)
	clear(v.Facts)
	if after := shot(s.sitting, 140, 45, false); after != before {
		t.Error("the screen changed with a view that it had been given before")
	}
}

func TestReportScrolls(t *testing.T) {
	p := &reportPage{title: "t", lines: reportLines()}
	first := func() string {
		return strings.Split(ansi.Strip(shot(p, 80, 24, true)), "\n")[2]
	}
	if got := first(); !strings.Contains(got, " 1  item") {
		t.Fatalf("begins with %q", got)
	}
	for _, test := range []struct {
		to   move
		want string
	}{
		{moveUp, " 1  item"}, {moveDown, " 2  item"}, {movePageDown, "20  item"}, {moveBottom, "20  item"}, {movePageUp, " 1  item"}, {moveTop, " 1  item"},
	} {
		p.scroll(test.to)
		if got := first(); !strings.Contains(got, test.want) {
			t.Errorf("after move %d the page begins with %q, want %q", test.to, got, test.want)
		}
	}
}

func TestWelcomeSaysTheCaution(t *testing.T) {
	got := strings.Join(strings.Fields(ansi.Strip(shot(&welcomePage{}, 80, 24, true))), " ")
	if !strings.Contains(got, Caution) {
		t.Errorf("the first screen does not say the whole caution: %s", got)
	}
	for _, must := range []string{"training aid", "not approved for operational use", "approved flight manual", "operator's procedures", "qualified instructor", "fictional"} {
		if !strings.Contains(Caution, must) {
			t.Errorf("the caution does not say %q", must)
		}
	}
}
