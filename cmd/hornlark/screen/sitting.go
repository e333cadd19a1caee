package screen

import (
	"cmp"
	"fmt"
	"strings"
	"sync"
	"time"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// The least size of a terminal that everything fits into.
const (
	leastWidth  = 80
	leastHeight = 24
)

// sitting is the page of a running sitting.
type sitting struct {
	profile *aircraft.Profile
	title   string
	policy  scenario.Policy
	words   Words
	help    scenario.Help
	stop    string // what is printed on the key of the stop call
	keys    string // and on the key that shows the keys
	cockpit *cockpit
	pairs   gaugePairs

	mu     sync.Mutex // guards what follows
	view   drill.View
	notice string
	level  string // of the sound, for a moment after it was changed
	levels int    // how often it was changed
	silent bool
	laid   layout
}

// layout is the plan for a screen of some size. It is kept from one frame to the next: to make it took more than half of a frame.
type layout struct {
	width, height int
	plan          *plan // nil: none has been made
}

func newSitting(o Options) *sitting {
	s := &sitting{
		profile: o.Profile, title: o.Title, policy: o.Policy, help: cmp.Or(o.Help, scenario.Names), silent: o.Silent,
	}
	layout := cmp.Or(o.Layout, QWERTY)
	s.words = WordsOf(o.Policy, layout)
	s.stop, s.keys = layout.Label(drill.StopCall), keysLabel(layout)
	s.cockpit = newCockpit(s.profile, layout)
	s.pairs = pairGauges(s.profile.Gauges)
	return s
}

// show takes a view over.
func (s *sitting) show(v *drill.View) { copyView(&s.view, v) }

// levelFor is how long the level of the sound is shown after it was changed.
const levelFor = 2 * time.Second

// showLevel shows the level of the sound for a moment.
func (s *sitting) showLevel(text string, redraw func()) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.level = text
	s.levels++
	n := s.levels
	redraw()
	time.AfterFunc(levelFor, func() {
		s.mu.Lock()
		defer s.mu.Unlock()
		if s.levels == n { // it has not been changed since
			s.level = ""
			redraw()
		}
	})
}

// area is a part of the page.
type area struct{ x, y, width, height int }

// areas are where the parts of a page have been drawn, each with the rule above it.
type areas struct {
	title, challenge, last, sound, captions, outside, gauges, cockpit, said, foot area
}

// draw shows the sitting, or, while it is held, the keys: the aircraft is not to be studied while its time stands still.
func (s *sitting) draw(c *canvas) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.view.Paused && !s.view.Ended {
		s.drawKeyPage(c)
		return
	}
	s.lay(c)
}

// lay draws the page from top to bottom, and says where its parts are. What it can do without gives way first: see plan.
func (s *sitting) lay(c *canvas) areas {
	if s.laid.plan == nil || s.laid.width != c.width || s.laid.height != c.height {
		p := s.plan(c.width, c.height)
		s.laid = layout{c.width, c.height, &p}
	}
	p := s.laid.plan
	var a areas
	y, from := 0, 0
	section := func(title string) {
		if p.rules {
			rule(c, y, title)
			y++
		}
	}
	part := func() area {
		done := area{0, from, c.width, y - from}
		from = y
		return done
	}
	s.drawTitle(c, y)
	y++
	a.title = part()
	section("challenge")
	s.drawChallenge(c, y, p.challenge)
	y += p.challenge
	a.challenge = part()
	begin := s.drawSound(c, y)
	s.drawLast(c, y, begin-2)
	a.last, a.sound = area{0, y, begin - 2, 1}, area{begin, y, c.width - begin, 1}
	y++
	from = y
	section("captions   " + marksLegend)
	s.drawCaptions(c, y, p.captions)
	y += p.captions.lines
	a.captions = part()
	s.drawOutside(c, y, p.outside)
	y += p.outside
	a.outside = part()
	section("gauges   " + scaleLegend)
	s.drawGauges(c, y, p.gauges, p.form)
	y += p.gauges
	a.gauges = part()
	if p.cockpit > 0 {
		section("cockpit on the keyboard   " + guardLegend)
		s.cockpit.draw(c, y, p.rows, &s.view)
		y += p.cockpit
		a.cockpit = part()
	}
	if p.said > 0 {
		rule(c, y, "what was said and pressed")
		s.drawSaid(c, y+1, p.said-1)
		y += p.said
		a.said = part()
	}
	s.drawFoot(c, c.height-1)
	a.foot = area{0, c.height - 1, c.width, 1}
	return a
}

// plan is how many lines each part of the page gets.
type plan struct {
	rules     bool // a line with a title above each part
	challenge int
	captions  annunciator
	outside   int
	gauges    int
	form      gaugeForm
	cockpit   int
	rows      []rowForm
	said      int // with its rule
}

// plan shares the lines out: the least that every part needs, and what is left in the order in which it helps most: longer
// names on the cockpit's keys, a line of its own for what is wanted, what is seen outside in full, scales for the gauges, captions
// in columns, rules between the parts, and what was said and pressed. It goes by the size alone and not by what is lit, so that no
// part moves when something happens.
func (s *sitting) plan(width, height int) plan {
	const title, last, foot = 1, 1, 1
	const longestCaption, shortestCaption = 16, 6
	p := plan{challenge: 1, outside: 1, captions: inLines(s.profile.Captions, width, longestCaption)}
	switch s.help {
	case scenario.None:
	case scenario.Bare:
		p.rows = s.cockpit.all(bare)
	default:
		p.rows = s.cockpit.all(squeezed)
	}
	p.cockpit = s.cockpit.height(width, p.rows)
	left := height - title - last - foot - p.challenge - p.outside - p.cockpit - p.captions.lines
	if n := s.gaugeLines(width, paired); width >= pairsWidth && n <= left {
		p.form, p.gauges = paired, n
	} else {
		p.gauges = s.gaugeLines(width, digits)
	}
	left -= p.gauges
	for most := longestCaption - 1; left < 0 && most >= shortestCaption; most-- {
		fewer := inLines(s.profile.Captions, width, most)
		left += p.captions.lines - fewer.lines
		p.captions = fewer
	}
	if left < 0 { // a cockpit of somebody's own that is too much for this terminal
		p.gauges += left
		if p.gauges < 0 {
			p.captions = p.captions.within(max(1, p.captions.lines+p.gauges))
			p.gauges = 0
		}
		return p
	}
	spend := func(n int) bool {
		if n > left {
			return false
		}
		left -= n
		return true
	}
	if s.help == scenario.Names {
		for _, i := range s.cockpit.byLoss(width) {
			if n := s.cockpit.lines(i, width, named) - s.cockpit.lines(i, width, squeezed); spend(n) {
				p.rows[i] = named
			}
		}
		p.cockpit = s.cockpit.height(width, p.rows)
	}
	if spend(1) {
		p.challenge++
	}
	for p.outside < s.outsideLines(width) && spend(1) {
		p.outside++
	}
	if n := s.gaugeLines(width, scaled); p.form == digits && spend(max(0, n-p.gauges)) {
		p.form, p.gauges = scaled, n
	}
	if even := inColumns(s.profile.Captions, width); spend(max(0, even.lines-p.captions.lines)) {
		p.captions = even
	}
	parts := 3
	if p.cockpit > 0 {
		parts++
	}
	p.rules = spend(parts)
	if left >= 4 {
		p.said = left
	}
	return p
}

// rule draws a line with a title in it.
func rule(c *canvas, y int, title string) {
	c.fill(0, y, c.width, '─', faint)
	c.text(2, y, c.width-4, " "+strings.ToUpper(title)+" ", faint)
}

func (s *sitting) drawTitle(c *canvas, y int) {
	v := &s.view
	x := c.width
	mark := func(text string, l look) {
		x -= textWidth(text)
		c.text(x, y, textWidth(text), text, l)
		x--
	}
	if s.silent {
		mark(" SILENT ", keycap)
	}
	mark(clock(v.At), strong)
	if v.Items > 0 {
		mark(fmt.Sprintf("item %d/%d", v.ItemNo, v.Items), plain)
		x--
	}
	phase := ""
	if v.PhaseNo > 0 {
		phase = fmt.Sprintf("phase %d/%d %s", v.PhaseNo, v.Phases, v.Phase)
	}
	title := cmp.Or(s.title, s.profile.Title)
	n := c.text(0, y, min(x, max(x-textWidth(phase)-3, x/3)), title, strong)
	if phase != "" {
		c.text(n+2, y, x-n-2, phase, plain)
	}
}

// clock is a time of the sitting in minutes and seconds, with hours once there are any.
func clock(at time.Duration) string {
	total := int(max(at, 0) / time.Second)
	if total >= 3600 {
		return fmt.Sprintf("%d:%02d:%02d", total/3600, total/60%60, total%60)
	}
	return fmt.Sprintf("%02d:%02d", total/60, total%60)
}

// drawChallenge says what there is to do, and how much time there is for it, in one line or two.
func (s *sitting) drawChallenge(c *canvas, y, lines int) {
	v, q := &s.view, s.view.Asked
	x := 0
	// next goes to where the second line would be.
	next := func() {
		if x += 2; lines > 1 {
			x, y = 0, y+1
		}
	}
	switch {
	case v.Ended:
		c.text(0, y, c.width, "The sitting has ended.", strong)
		return
	case v.Stopped:
		x = 1 + c.text(0, y, c.width, " STOPPED ", keycap)
		x += c.text(x, y, c.width-x, s.words.Stopped, strong)
		if next(); q != nil {
			c.text(x, y, c.width-x, "left at: "+q.Challenge, plain)
		}
		return
	case q == nil:
		x = c.text(0, y, c.width, s.words.Unasked, plain)
		next()
		s.drawTyped(c, x, y)
		return
	case q.Again:
		x = 1 + c.text(0, y, c.width, " AGAIN ", keycap)
	}
	bar := ""
	if s.policy.Acts != logbook.Pilot {
		bar = timeBar(q, v.At, lines == 1)
	}
	room := c.width
	if lines == 1 {
		room -= textWidth(bar) + 1
		if v.Typed != "" {
			room -= textWidth(v.Typed) + 5
		}
	}
	x += c.text(x, y, room-x, q.Challenge, strong)
	next()
	if answering := s.words.answering(q); lines > 1 || x+textWidth(answering) <= room {
		x += 2 + c.text(x, y, c.width-x, answering, plain)
	}
	s.drawTyped(c, x, y)
	c.right(c.width-textWidth(bar), y, textWidth(bar), bar, plain)
}

// drawTyped shows the digits typed so far.
func (s *sitting) drawTyped(c *canvas, x, y int) int {
	if s.view.Typed == "" {
		return 0
	}
	return c.text(x, y, c.width-x, " "+s.view.Typed+"_ ", keycap)
}

// timeBar is the time that is left for the answer, as a bar and in seconds.
func timeBar(q *drill.Question, at time.Duration, short bool) string {
	width, remain := 12, " s left"
	if short {
		width, remain = 6, " s"
	}
	switch {
	case q.Within <= 0:
		return ""
	case q.Spoken == 0 || q.Spoken > at:
		return "being asked"
	}
	left := q.Within - (at - q.Spoken)
	if left < 0 {
		return fmt.Sprintf("[%s] LATE by %.1f s", strings.Repeat(".", width), -left.Seconds())
	}
	full := int(int64(width) * int64(left) / int64(q.Within))
	return fmt.Sprintf("[%s%s] %.1f%s", strings.Repeat("=", full), strings.Repeat(".", width-full), left.Seconds(), remain)
}

// drawLast shows what the last answer amounted to; where feedback waits for the end, nothing of that.
func (s *sitting) drawLast(c *canvas, y, room int) {
	r := &s.view.Last
	switch {
	case s.words.Feedback != "":
		c.text(0, y, room, s.words.Feedback, plain)
		return
	case r.Text == "" && r.Item == "":
		c.text(0, y, room, "No response yet.", plain)
		return
	}
	mark, l := "[x] WRONG", inRed
	switch {
	case r.Late:
		mark, l = "[!] LATE", inAmber
	case r.Right:
		mark, l = "[+] RIGHT", inGreen
	}
	x := c.text(0, y, room, mark, l) + 1
	if r.Reaction > 0 {
		x += 1 + c.text(x, y, room-x, fmt.Sprintf("%d ms", r.Reaction.Milliseconds()), strong)
	}
	c.text(x+1, y, room-x-1, cmp.Or(r.Text, r.Item), plain)
}

// leastSound is the first column that what can be heard may take.
func leastSound(width int) int { return width / 2 }

// drawSound shows what can be heard, and what would be had it not been silenced, at the end of a line, and gives the
// column where it begins.
func (s *sitting) drawSound(c *canvas, y int) int {
	const title = "SOUND "
	var marks []string
	var looks []look
	width := len(title)
	for _, level := range levels {
		for i := range s.profile.Alerts {
			alert := &s.profile.Alerts[i]
			mark, as := lamp(level)
			switch {
			case alert.Level != level:
				continue
			case at(s.view.Sounding, i):
				mark += alert.Name
			case at(s.view.Silenced, i):
				mark, as = "silenced: "+alert.Name, plain
			default:
				continue
			}
			marks, looks = append(marks, mark), append(looks, as)
			width += textWidth(mark) + 1
		}
	}
	if len(marks) == 0 {
		c.right(0, y, c.width, title+"none", plain)
		return c.width - len(title+"none")
	}
	begin := max(leastSound(c.width), c.width-width+1)
	x := begin + c.text(begin, y, c.width-begin, title, plain)
	for i := range marks {
		x += 1 + c.text(x, y, c.width-x, marks[i], looks[i])
	}
	return begin
}

// drawOutside shows what is to be seen outside, in the lines that it may take. Where the whole does not fit,
// each part of it is shortened, so that none is missing.
func (s *sitting) drawOutside(c *canvas, y, lines int) {
	var seen []string
	for i := range min(len(s.profile.Outside), len(s.view.Facts)) {
		fact := &s.profile.Outside[i]
		switch {
		case !s.view.Seen[i]:
		case s.view.Facts[i]:
			seen = append(seen, fact.True)
		default:
			seen = append(seen, fact.Not)
		}
	}
	if len(seen) == 0 {
		return
	}
	room := c.width - len(outsideTitle)
	rows := wrap(strings.Join(seen, ", "), room)
	c.text(0, y, c.width, outsideTitle, faint)
	if len(rows) > lines {
		x, share := len(outsideTitle), (room+1)/len(seen)
		for i, text := range seen {
			c.text(x+i*share, y, share-1, text, plain)
		}
		return
	}
	for i, row := range rows {
		c.text(len(outsideTitle), y+i, room, row, plain)
	}
}

const outsideTitle = "OUTSIDE "

// outsideLines is how many lines whatever can be seen outside takes.
func (s *sitting) outsideLines(width int) int {
	var longest []string
	for i := range s.profile.Outside {
		fact := &s.profile.Outside[i]
		if textWidth(fact.True) > textWidth(fact.Not) {
			longest = append(longest, fact.True)
		} else {
			longest = append(longest, fact.Not)
		}
	}
	return max(1, len(wrap(strings.Join(longest, ", "), width-len(outsideTitle))))
}

// speakers are who says and presses, as the screen has them.
var speakers = map[string]string{
	string(drill.Challenger): "partner", string(drill.Responder): "response", string(drill.Crew): "crew",
	string(logbook.Trainee): "you", string(logbook.Pilot): "pilot", string(logbook.Instructor): "instructor",
}

// drawSaid shows what was said and pressed last.
func (s *sitting) drawSaid(c *canvas, y, lines int) {
	const who = 11
	said := s.view.Said
	for _, line := range said[max(0, len(said)-lines):] {
		x := 2 + c.text(0, y, c.width, clock(line.At), plain)
		as := plain
		if line.Who == string(logbook.Trainee) {
			as = strong
		}
		c.text(x, y, who-1, cmp.Or(speakers[line.Who], line.Who), plain)
		c.text(x+who, y, c.width-x-who, line.Text, as)
		y++
	}
}

// drawFoot shows the notice or the level of the sound, or else the keys that are the same on every profile.
func (s *sitting) drawFoot(c *canvas, y int) {
	switch {
	case s.level != "":
		c.text(0, y, c.width, s.level, strong)
		return
	case s.notice != "":
		c.text(0, y, c.width, "! "+s.notice, strong)
		return
	}
	keys := []string{"Enter", "yes", "Backspace", "no", "Space", "silence", s.stop, "stop", "Tab", "again", "Esc", "pause", s.keys, "keys"}
	if c.width >= 110 {
		keys = append(keys, "PgUp/PgDn", "sound level", "Ctrl-C", "end")
	}
	drawKeys(c, y, keys...)
}

// drawKeys shows keys and what they do.
func drawKeys(c *canvas, y int, pairs ...string) {
	x := 0
	for i := 0; i+1 < len(pairs); i += 2 {
		x += 1 + c.text(x, y, c.width-x, pairs[i], keycap)
		x += 2 + c.text(x, y, c.width-x, pairs[i+1], plain)
	}
}

// drawTooSmall says how large a terminal has to be.
func drawTooSmall(c *canvas) {
	text := fmt.Sprintf("This terminal has %d columns and %d lines. Hornlark needs %d columns and %d lines: enlarge it, or make its type smaller.",
		c.width, c.height, leastWidth, leastHeight)
	for y, line := range wrap(text, c.width) {
		c.text(0, y, c.width, line, plain)
	}
}

// at is an element of a view's slice, or zero if the view has not been filled.
func at[T any](of []T, i int) T {
	if i < len(of) {
		return of[i]
	}
	var none T
	return none
}
