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
	"hornlark/drill/procedure"
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
	help    scenario.Help
	stop    string // what is printed on the key of the stop call
	cockpit *cockpit
	pairs   gaugePairs

	mu     sync.Mutex // guards what follows
	view   drill.View
	lit    []int // when each caption was lit: by its number among all that have been
	lights int   // how many have been lit so far
	notice string
	silent bool
}

func newSitting(o Options) *sitting {
	s := &sitting{
		profile: o.Profile, title: o.Title, policy: o.Policy, help: cmp.Or(o.Help, scenario.Names), silent: o.Silent,
	}
	layout := cmp.Or(o.Layout, QWERTY)
	s.stop = layout.Label(drill.StopCall)
	s.cockpit = newCockpit(s.profile, layout)
	s.lit = make([]int, len(s.profile.Captions))
	s.pairs = pairGauges(s.profile.Gauges)
	return s
}

// show takes a view over.
func (s *sitting) show(v *drill.View) {
	for i := range min(len(s.lit), len(v.Lit)) {
		if v.Lit[i] && !at(s.view.Lit, i) {
			s.lights++
			s.lit[i] = s.lights
		}
	}
	copyView(&s.view, v)
}

// area is a part of the page.
type area struct{ x, y, width, height int }

// areas are where the parts of a page have been drawn, each with the rule above it.
type areas struct {
	title, challenge, last, sound, captions, outside, gauges, cockpit, said, foot area
}

// draw lays the page out from top to bottom. What it can do without gives way first: see plan.
func (s *sitting) draw(c *canvas) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.lay(c)
}

// lay draws the page, and says where its parts are.
func (s *sitting) lay(c *canvas) areas {
	p := s.plan(c.width, c.height)
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
	s.drawChallenge(c, y)
	y += challengeLines
	a.challenge = part()
	begin := s.drawSound(c, y)
	s.drawLast(c, y, begin-2)
	a.last, a.sound = area{0, y, begin - 2, 1}, area{begin, y, c.width - begin, 1}
	y++
	from = y
	section("captions")
	y += s.captions(c.width, p.captions).draw(c, y)
	a.captions = part()
	rest := a.captions.y + p.captions + 1 - y
	if p.rules {
		rest++
	}
	s.drawOutside(c, y, rest)
	y += rest
	a.outside = part()
	section("gauges   " + scaleLegend)
	s.drawGauges(c, y, p.gauges, p.inPairs)
	y += p.gauges
	a.gauges = part()
	if p.cockpit > 0 {
		section("cockpit on the keyboard")
		s.cockpit.draw(c, y, p.form, &s.view)
		y += p.cockpit
		a.cockpit = part()
	}
	if p.said > 0 {
		rule(c, y, "what was said and pressed")
		s.drawSaid(c, y+1, p.said-1)
		y += p.said
		a.said = part()
	}
	if p.foot {
		s.drawFoot(c, c.height-1)
		a.foot = area{0, c.height - 1, c.width, 1}
	}
	return a
}

// challengeLines is how many lines the challenge has.
const challengeLines = 2

// plan is how many lines each part of the page gets.
type plan struct {
	rules    bool // a line with a title above each part
	captions int
	gauges   int
	inPairs  bool // left and right engine side by side
	cockpit  int
	form     cockpitForm
	said     int // with its rule
	foot     bool
}

// plan shares the lines out: the least that every part needs, and what is left in the order in which it helps most:
// room for captions, longer names on the cockpit's keys, rules between the parts, and what was said and pressed. It goes
// by the size alone and not by what is lit, so that no part moves when something happens. But on a terminal without a line
// to spare the keys at the foot give way to captions that would have no place.
func (s *sitting) plan(width, height int) plan {
	p := plan{captions: 2, foot: true}
	const title, last, outside, foot = 1, 1, 1, 1
	switch s.help {
	case scenario.None:
	case scenario.Bare:
		p.form = bare
		p.cockpit = s.cockpit.height(width, bare)
	default:
		p.cockpit = s.cockpit.height(width, squeezed)
	}
	rest := title + challengeLines + last + p.captions + outside + p.cockpit + foot
	p.gauges = s.gaugeLines(width, false)
	if n := s.gaugeLines(width, true); width >= pairsWidth && rest+n <= height {
		p.inPairs, p.gauges = true, n
	}
	left := height - rest - p.gauges
	if left < 0 {
		p.gauges += left
		return p
	}
	spend := func(n int) bool {
		if n > left {
			return false
		}
		left -= n
		return true
	}
	for p.captions < mostCaptionLines && spend(1) {
		p.captions++
	}
	if s.captions(width, p.captions).hidden > 0 && p.captions < mostCaptionLines && s.notice == "" {
		p.captions++
		p.foot = false
	}
	if s.help == scenario.Names && s.cockpit.grid(width).cell >= namedCell {
		if full := s.cockpit.height(width, named); spend(full - p.cockpit) {
			p.form, p.cockpit = named, full
		}
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
	c.fill(0, y, c.width, '─', plain)
	c.text(2, y, c.width-4, " "+strings.ToUpper(title)+" ", plain)
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
	if v.Paused {
		mark(" PAUSED ", keycap)
	}
	mark(clock(v.At), strong)
	if v.Items > 0 {
		mark(fmt.Sprintf("item %d/%d", v.ItemNo, v.Items), plain)
		x--
	}
	phase := ""
	if v.Phases > 0 {
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

// drawChallenge says what there is to do, and how much time there is for it.
func (s *sitting) drawChallenge(c *canvas, y int) {
	v, q := &s.view, s.view.Asked
	x := 0
	switch {
	case v.Ended:
		c.text(0, y, c.width, "The sitting has ended.", strong)
		return
	case v.Stopped:
		x = 1 + c.text(0, y, c.width, " STOPPED ", keycap)
		c.text(x, y, c.width-x, s.stopped(), strong)
		if q != nil {
			c.text(0, y+1, c.width, "left at: "+q.Challenge, plain)
		}
		return
	case q == nil:
		c.text(0, y, c.width, s.unasked(), plain)
		s.drawTyped(c, 0, y+1)
		return
	case q.Again:
		x = 1 + c.text(0, y, c.width, " AGAIN ", keycap)
	}
	c.text(x, y, c.width-x, q.Challenge, strong)
	x = 2 + c.text(0, y+1, c.width, s.answering(q), plain)
	if n := s.drawTyped(c, x, y+1); n > 0 {
		x += n + 2
	}
	if s.policy.Acts != logbook.Pilot {
		c.right(x, y+1, c.width-x, timeBar(q, v.At, v.Paused), plain)
	}
}

// stopped says that the trainee has stopped the partner, and how it goes on.
func (s *sitting) stopped() string {
	if s.policy.Flow == scenario.Nothing {
		return "You have called stop. " + s.stop + " takes it back."
	}
	return "The checklist waits for you. " + s.stop + " goes on with it."
}

// unasked is what there is to do when nothing is being asked. It is the same whatever is in the aircraft.
func (s *sitting) unasked() string {
	switch {
	case s.policy.Flow == scenario.Nothing:
		return "Watch and listen: act on what comes up."
	case s.policy.Acts == logbook.Pilot:
		return "The other pilot does the flow: watch it, and act if something is wrong."
	case s.policy.Asks == "" && s.policy.Acts == logbook.Trainee:
		return "From memory: do the flow, item by item."
	}
	return "Listen for the next challenge."
}

// answering says what is wanted for a question. The line at the foot says which keys are yes and no.
func (s *sitting) answering(q *drill.Question) string {
	switch {
	case s.policy.Acts == logbook.Pilot:
		return "the other pilot does it"
	case q.Fix:
		return "put it right"
	}
	switch procedure.Kind(q.Kind) {
	case procedure.Set:
		return "move it"
	case procedure.Check:
		return "in limits?"
	case procedure.Read, procedure.Figure:
		return "type it, then Enter"
	case procedure.Callout:
		return "Enter as it passes"
	case procedure.Confirm:
		return "is it so?"
	}
	return ""
}

// drawTyped shows the digits typed so far.
func (s *sitting) drawTyped(c *canvas, x, y int) int {
	if s.view.Typed == "" {
		return 0
	}
	return c.text(x, y, c.width-x, " "+s.view.Typed+"_ ", keycap)
}

// timeBar is the time that is left for the answer, as a bar and in seconds.
func timeBar(q *drill.Question, at time.Duration, paused bool) string {
	const width = 12
	switch {
	case q.Within <= 0:
		return ""
	case q.Spoken == 0 || q.Spoken > at:
		return "being asked"
	case paused:
		return "held"
	}
	left := q.Within - (at - q.Spoken)
	if left < 0 {
		return fmt.Sprintf("[%s] LATE by %.1f s", strings.Repeat(".", width), -left.Seconds())
	}
	full := int(int64(width) * int64(left) / int64(q.Within))
	return fmt.Sprintf("[%s%s] %.1f s left", strings.Repeat("=", full), strings.Repeat(".", width-full), left.Seconds())
}

// drawLast shows what the last answer amounted to; where feedback waits for the end, nothing of that.
func (s *sitting) drawLast(c *canvas, y, room int) {
	r := &s.view.Last
	switch {
	case s.policy.Feedback == scenario.AtTheEnd:
		c.text(0, y, room, "What was right is told at the end.", plain)
		return
	case r.Text == "" && r.Item == "":
		c.text(0, y, room, "No response yet.", plain)
		return
	}
	mark, l := "[x] WRONG", inRed
	if r.Right {
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
				mark += " " + alert.Name
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

// drawOutside shows what is to be seen outside, at the end of the lines that it may take. Where the whole does not fit,
// each part of it is shortened, so that none is missing.
func (s *sitting) drawOutside(c *canvas, y, lines int) {
	const title = "OUTSIDE "
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
	room := c.width - len(title)
	rows := wrap(strings.Join(seen, ", "), room)
	if len(rows) > lines {
		x, share := len(title), (room+1)/len(seen)
		y += lines - 1
		c.text(0, y, c.width, title, plain)
		for i, text := range seen {
			c.text(x+i*share, y, share-1, text, plain)
		}
		return
	}
	y += lines - len(rows)
	c.text(0, y, c.width, title, plain)
	for i, row := range rows {
		c.text(len(title), y+i, room, row, plain)
	}
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

// drawFoot shows the notice, or else the keys that are the same on every profile.
func (s *sitting) drawFoot(c *canvas, y int) {
	if s.notice != "" {
		c.text(0, y, c.width, "! "+s.notice, strong)
		return
	}
	drawKeys(c, y, "Enter", "yes", "Backspace", "no", "Space", "silence", s.stop, "stop", "Tab", "again", "Esc", "pause", "Ctrl-C", "end")
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
