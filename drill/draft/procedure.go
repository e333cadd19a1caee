package draft

import (
	"cmp"
	"fmt"
	"path"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"gopkg.in/yaml.v3"

	"hornlark/drill/aircraft"
	"hornlark/drill/fault"
	"hornlark/drill/procedure"
)

// Options say what a document is called. All may be empty.
type Options struct {
	Name  string // short name; empty is made of the title
	Title string // empty is that of the checklist
	From  string // where the checklist was read from, for the reader of the document
}

// Note is something that the writer of a checklist should look at.
type Note struct {
	Row       int    // in the checklist, from 1
	Challenge string // as it was written
	Response  string
	Item      string   // id of what it has become; empty if it has become nothing
	Says      string   // what is the matter
	Nearest   []string // what comes nearest in the profile
}

// Drafted is a procedure that was made of a checklist.
type Drafted struct {
	Name, Title string
	YAML        string
	Kinds       map[procedure.Kind]int // items of each kind that were mapped
	Phases      int
	Items       int
	Guessed     []Note // mapped, by a guess
	Unmapped    []Note // have become confirms, which are answered by Enter whatever the aircraft does
	Left        []Note // no lines of a checklist
}

// Procedure makes a procedure for a profile, which has been compiled, of a checklist. It passes the check as it is. A comment stands
// where something was guessed, or could not be mapped.
func Procedure(list *Checklist, prof *aircraft.Profile, o Options) *Drafted {
	d := &Drafted{Kinds: map[procedure.Kind]int{}, Phases: len(list.Phases), Items: list.Count()}
	file := strings.TrimSuffix(o.From, path.Ext(o.From))
	d.Title = clip(cmp.Or(o.Title, list.Title, sentence(list.Phases[0].Title), capital(tidy(strings.Trim(file, "-"))), "Checklist"))
	d.Name = cmp.Or(o.Name, slug(file, ""), slug(d.Title, "checklist"))
	w := &writer{}
	w.comment("", "Drafted of %s for the %s, which never existed. The flight manual of a real aircraft decides what is done there, and in which order.",
		cmp.Or(tidy(o.From), "a checklist"), prof.Title)
	w.comment("", "A look at a gauge is asked for once it is right, or after half a minute. Where something was guessed, a comment says so.")
	w.row("name: %s", scalar(d.Name))
	w.row("title: %s", scalar(d.Title))
	w.row("about: Drafted of a checklist. Say here what it is for.")
	w.row("profile: %s", scalar(prof.Name))
	w.row("phases:")
	ids := map[string]int{}
	phases, titles := mapAll(list, prof), titlesOf(list, d.Title)
	for i, title := range titles {
		w.row("  - id: %s", unique(ids, "phase "+slug(title, "phase")))
		w.row("    title: %s", scalar(title))
		w.row("    items:")
		for k := range phases[i] {
			w.item(&phases[i][k])
			d.count(&phases[i][k])
		}
	}
	for _, l := range list.Left {
		d.Left = append(d.Left, Note{Row: l.Row, Challenge: l.Challenge, Says: "it is no line of a checklist, and was left out"})
	}
	d.YAML = w.String()
	return d
}

// titlesOf are the titles of the phases; that of the whole where one has none.
func titlesOf(list *Checklist, title string) []string {
	titles := make([]string, len(list.Phases))
	for i := range list.Phases {
		titles[i] = clip(sentence(cmp.Or(list.Phases[i].Title, title)))
	}
	return titles
}

// mapAll maps every line of a checklist, phase by phase, and gives each an id.
func mapAll(list *Checklist, prof *aircraft.Profile) [][]mapped {
	m := newMapper(prof)
	ids := map[string]int{}
	titles := titlesOf(list, "")
	phases := make([][]mapped, len(list.Phases))
	for i := range list.Phases {
		for _, line := range list.Phases[i].Lines {
			got := m.qualifiedLine(line, titles[i], phases[i])
			got.id = unique(ids, "item "+slug(got.line.Challenge, "item"))
			phases[i] = append(phases[i], got)
		}
	}
	holdOn(phases, titles)
	return phases
}

func (d *Drafted) count(g *mapped) {
	note := Note{Row: g.line.Row, Challenge: g.line.Challenge, Response: g.line.Response, Item: g.id, Nearest: g.near}
	switch {
	case g.problem != "":
		note.Says = g.problem
		d.Unmapped = append(d.Unmapped, note)
		return
	case g.guess != "":
		note.Says = g.guess
		d.Guessed = append(d.Guessed, note)
	}
	if !g.unfitted {
		d.Kinds[g.kind]++
	}
}

// writer writes a document.
type writer struct{ strings.Builder }

func (w *writer) row(format string, args ...any) { fmt.Fprintf(&w.Builder, format+"\n", args...) }

// comment writes a comment, broken into lines.
func (w *writer) comment(indent, format string, args ...any) {
	line := indent + "#"
	for _, word := range strings.Fields(tidy(fmt.Sprintf(format, args...))) {
		if utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > 120 && line != indent+"#" {
			w.row("%s", line)
			line = indent + "#"
		}
		line += " " + word
	}
	w.row("%s", line)
}

const (
	waitForGauge = "30s"
	waitForCall  = "40s" // for a value to be passed
)

func (w *writer) item(g *mapped) {
	const in = "        "
	challenge, response := clip(sentence(g.line.Challenge)), clip(sentence(g.line.Response))
	if empty(g.line.Response) || g.say != "" {
		response = cmp.Or(g.say, response)
		if empty(response) {
			response = "In order"
		}
		if g.say == "" && g.line.Response != "" && g.guess == "" && g.problem == "" {
			g.guess = "say the status or the value that is right"
		}
	}
	if cut := utf8.RuneCountInString(g.line.Challenge) > fault.MaxLine || utf8.RuneCountInString(g.line.Response) > fault.MaxLine; cut && g.guess == "" {
		g.guess = fmt.Sprintf("cut at %d characters", fault.MaxLine)
	}
	if g.crew != "" {
		w.comment("      ", "Line %d is %s's; here the trainee is asked.", g.line.Row, g.crew)
	}
	switch {
	case g.problem != "":
		w.comment("      ", "Line %d: %s. It is confirmed by Enter, and nothing looks whether it is so.", g.line.Row, g.problem)
		if len(g.near) > 0 {
			w.comment("      ", "Nearest: %s.", strings.Join(g.near, "; "))
		}
	case g.guess != "":
		w.comment("      ", "Line %d, guessed: %s.", g.line.Row, g.guess)
	}
	w.row("      - id: %s", g.id)
	w.row(in+"challenge: %s", scalar(challenge))
	w.row(in+"response: %s", scalar(response))
	switch g.kind {
	case procedure.Set:
		var moves []string
		for _, s := range g.set {
			moves = append(moves, s.Control+": "+flow(s.Position))
		}
		w.row(in+"set: {%s}", strings.Join(moves, ", "))
	case procedure.Read:
		w.row(in+"read: %s", g.read)
	case procedure.Callout:
		down := ""
		if g.callout.Down {
			down = ", falling: true"
		}
		w.row(in+"callout: {gauge: %s, value: %s%s}", g.callout.Gauge, digits(g.callout.Value), down)
		w.row(in+"wait: %s", waitForCall)
	default:
		w.row(in+"%s: %s", g.kind, scalar(g.cond))
	}
	if g.unfitted {
		w.row(in + "fitted: false")
	}
	if g.when != "" {
		w.row(in+"when: %s", scalar(g.when))
	}
	if g.holdOn != "" {
		w.row(in+"hold: %s", g.holdOn)
	}
	if g.mayHold != "" {
		w.row("        # hold: %s", g.mayHold)
	}
	if g.after == "" && g.kind == procedure.Check && len(g.look) > 0 && strings.ContainsAny(g.cond, "<>") {
		g.after = g.cond
	}
	if g.after != "" && g.kind != procedure.Callout {
		w.row(in+"after: %s", scalar(g.after))
		w.row(in+"wait: %s", waitForGauge)
	}
	if len(g.look) == 0 {
		return
	}
	w.row(in+"look: [%s]", strings.Join(g.look, ", "))
}

var plainScalar = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9 _-]*$`)

// scalar is a text as YAML has it in a row of its own.
func scalar(text string) string {
	if plainScalar.MatchString(text) && styleOf(text) == 0 && text[len(text)-1] != ' ' { // as it would come out
		return text
	}
	out, err := yaml.Marshal(&yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: text, Style: styleOf(text)})
	if err != nil {
		return `""`
	}
	return strings.TrimRight(string(out), "\n")
}

// flow is a text as YAML has it between braces.
func flow(text string) string {
	if plainScalar.MatchString(text) && styleOf(text) == 0 {
		return text
	}
	out, err := yaml.Marshal(&yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: text, Style: yaml.DoubleQuotedStyle})
	if err != nil {
		return `""`
	}
	return strings.TrimRight(string(out), "\n")
}

// styleOf quotes what a reader of YAML 1.1 or 1.2 might take for something other than a text.
func styleOf(text string) yaml.Style {
	switch strings.ToLower(text) {
	case "on", "off", "yes", "no", "y", "n", "true", "false", "null", "~", "":
		return yaml.DoubleQuotedStyle
	}
	switch {
	case strings.Contains(text, `"`):
		return yaml.SingleQuotedStyle
	case text[0] >= '0' && text[0] <= '9':
		return yaml.DoubleQuotedStyle
	}
	return 0
}

// slug is a short name made of a text.
func slug(text, otherwise string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(text) {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9' && b.Len() > 0:
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
		if b.Len() >= fault.MaxName-5 { // leaves room for a number
			break
		}
	}
	return cmp.Or(strings.Trim(b.String(), "-"), otherwise)
}

// unique gives each name of a kind a number of its own from the second on. The kind stands before the name.
func unique(taken map[string]int, kindAndName string) string {
	_, name, _ := strings.Cut(kindAndName, " ")
	kind := strings.TrimSuffix(kindAndName, name)
	for n := 1; ; n++ {
		try := name
		if n > 1 {
			try = fmt.Sprintf("%s-%d", name, n)
		}
		if taken[kind+try] == 0 {
			taken[kind+try] = 1
			return try
		}
	}
}

// clip keeps a text within what is shown or spoken in one go.
func clip(text string) string {
	if utf8.RuneCountInString(text) <= fault.MaxLine {
		return text
	}
	runes := []rune(text)[:fault.MaxLine-1]
	if i := slices.Index(runes, ' '); i > 0 {
		for runes[len(runes)-1] != ' ' {
			runes = runes[:len(runes)-1]
		}
	}
	return strings.TrimSpace(string(runes)) + "…"
}

// spelled are words that stay in capitals where a whole line is in capitals.
var spelled = strings.Fields("FADEC TOT TRQ NR N1 N2 NF NG NP OAT HYD GPU VHF UHF GPS ADF VOR ILS QNH QFE ELT AC DC A B NVG HSI ADI RPM MAP CHT EGT ITT TGT IFF XPDR AP EPU BIT SAS IBF IGE OGE ATC ATIS V C")

// sentence is a line in capitals as a sentence has it; of any other text the first letter is a capital.
func sentence(text string) string {
	if strings.ToUpper(text) != text {
		return capital(text)
	}
	words := strings.Fields(text)
	for i, w := range words {
		bare := strings.Trim(w, "()[],.;:/!?")
		if slices.Contains(spelled, bare) || strings.ContainsAny(bare, "0123456789") {
			continue
		}
		if words[i] = strings.ToLower(w); i == 0 {
			words[i] = capital(words[i])
		}
	}
	return strings.Join(words, " ")
}

// capital is a text with a capital at its beginning.
func capital(text string) string {
	if text == "" {
		return ""
	}
	first, size := utf8.DecodeRuneInString(text)
	return strings.ToUpper(string(first)) + text[size:]
}
