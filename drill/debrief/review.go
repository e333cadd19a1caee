package debrief

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"hornlark/drill/practice"
	"hornlark/drill/scenario"
)

// Called is what is said in place of ids. What has no name here is called by its id.
type Called struct {
	Things     map[practice.Thing]string
	Abnormals  map[string]string // look-alikes among them
	Procedures map[string]string
	Date       func(time.Time) string // of when a sitting began
}

// Thing is what a thing is called.
func (c *Called) Thing(t practice.Thing) string { return cmp.Or(c.Things[t], t.Name) }

// Abnormal is what an abnormal or a look-alike is called.
func (c *Called) Abnormal(name string) string { return cmp.Or(c.Abnormals[name], name) }

// Kin names what sittings have in common.
func (c *Called) Kin(k practice.Kin) string {
	name := cmp.Or(c.Procedures[k.Procedure], k.Procedure)
	if k.Policy == string(scenario.Limits) && c.Procedures[k.Procedure] != "" {
		return name // which says so
	}
	return name + ", " + k.Policy
}

// Answer is a question that progress answers, in a word or two, and the answer.
type Answer struct{ Question, Text string }

// Compared says what is compared with what.
const Compared = "Compared are only complete sittings of the same procedure and aircraft under the same policy, over what both of them asked. Right is done rightly and at its place."

// Series gives the answers of a series. Each sentence hangs on figures that are given with it.
func (c *Called) Series(s *practice.Series) []Answer {
	list := []Answer{{"then and now", c.thenAndNow(s)}}
	if s.First != nil {
		list = append(list, Answer{"", c.change("the first one", s.First, s.Flow)})
	}
	list = append(list, Answer{"speed and slips", speedAndSlips(s)}, Answer{"learning curve", learning(s)})
	if !s.Flow {
		return list
	}
	return append(list, Answer{"worst", c.worst(s.Standings)}, Answer{"slowest", c.slowest(s.Standings)}, Answer{"best", c.best(s.Standings)})
}

func (c *Called) thenAndNow(s *practice.Series) string {
	switch {
	case s.Last != nil && s.First == nil:
		return c.change("the one before, which was the first", s.Last, s.Flow)
	case s.Last != nil:
		return c.change("the one before", s.Last, s.Flow)
	case s.Complete == 1:
		return "There is one complete sitting, and nothing to compare it with yet."
	}
	return "No sitting is complete, so none is compared."
}

// change tells of two sittings.
func (c *Called) change(against string, ch *practice.Change, flow bool) string {
	head := fmt.Sprintf("The latest (%s) against %s (%s): ", c.Date(ch.Now), against, c.Date(ch.Then))
	if ch.Things == 0 {
		return head + "they have nothing in common that was asked in both, so they are not compared."
	}
	parts := []string{fmt.Sprintf("of the same %s %d right then, %d now (%s)", Count(ch.Things, kindOf(flow)), ch.RightThen, ch.RightNow, moreOrLess(ch.RightNow-ch.RightThen))}
	if ch.Timed > 0 {
		parts = append(parts, fmt.Sprintf("median reaction %s then, %s now (%s; %d timed in both)", seconds(ch.MSThen), seconds(ch.MSNow), quickerOrSlower(ch.MSNow-ch.MSThen), ch.Timed))
	} else {
		parts = append(parts, "no reaction that both have")
	}
	switch {
	case ch.PassedNow && !ch.PassedThen:
		parts = append(parts, "not passed then, passed now")
	case ch.PassedThen && !ch.PassedNow:
		parts = append(parts, "passed then, not passed now")
	}
	return head + strings.Join(parts, "; ") + "."
}

func kindOf(flow bool) string {
	if flow {
		return "item"
	}
	return "abnormal"
}

func seconds(ms float64) string { return fmt.Sprintf("%.2f s", ms/1000) }

func moreOrLess(n int) string {
	switch {
	case n > 0:
		return fmt.Sprintf("%d more", n)
	case n < 0:
		return fmt.Sprintf("%d fewer", -n)
	}
	return "as many"
}

// quickerOrSlower says by how much, as far as it can be seen in hundredths.
func quickerOrSlower(ms float64) string {
	by := math.Round(math.Abs(ms) / 10)
	switch {
	case by == 0:
		return "as quick"
	case ms < 0:
		return fmt.Sprintf("%.2f s quicker", by/100)
	}
	return fmt.Sprintf("%.2f s slower", by/100)
}

// speedAndSlips says whether speed was bought with slips.
func speedAndSlips(s *practice.Series) string {
	p := s.Pace
	switch {
	case p == nil && s.Complete < practice.LeastPace:
		return fmt.Sprintf("Not told below %d complete sittings; there %s.", practice.LeastPace, isOrAre(s.Complete))
	case p == nil:
		return "Not told: the later half of the sittings asked nothing that the earlier half did."
	}
	text := together(p) + fmt.Sprintf(" The later %d against the earlier %d: ", p.Half, p.Half)
	if p.Times() != practice.Untold {
		text += fmt.Sprintf("reactions %.2f times as long (95 %% interval %.2f to %.2f; %s), ", p.Ratio, p.RatioLow, p.RatioHigh, Count(p.Timed, kindOf(s.Flow)))
	}
	return text + fmt.Sprintf("wrong %d of %d then, %d of %d now (%s percentage points more, 95 %% interval %s to %s).",
		p.WrongThen, p.OfThen, p.WrongNow, p.OfNow, rounded(100*p.More, 1), rounded(100*p.MoreLow, 1), rounded(100*p.MoreHigh, 1))
}

// rounded is a figure to so many places. What is nothing to that many has no sign.
func rounded(v float64, places int) string {
	text := fmt.Sprintf("%.*f", places, v)
	if strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-")
	}
	return text
}

func isOrAre(n int) string {
	switch n {
	case 0:
		return "is none"
	case 1:
		return "is 1"
	}
	return fmt.Sprintf("are %d", n)
}

// together says how speed and slips moved. What an interval does not rule out is not said to be so.
func together(p *practice.Pace) string {
	none := p.WrongThen == 0 && p.WrongNow == 0
	switch p.Times() {
	case practice.Less:
		switch slips := p.Slips(); {
		case slips == practice.Greater:
			return "Faster, but with more slips: this speed is no gain. Take the time until they are gone."
		case slips == practice.Less:
			return "Faster, and with fewer slips: no speed was bought with slips."
		case p.WrongNow == 0:
			return "Faster, and without a slip in the later half: no speed was bought with slips."
		case p.More > 0:
			return "Faster; there were more slips too, though no more than chance can make. Whether speed was bought with them cannot be told yet."
		}
		return "Faster, and no more slips: nothing shows that speed was bought with them."
	case practice.Greater:
		switch p.Slips() {
		case practice.Greater:
			return "Slower, and with more slips."
		case practice.Less:
			return "Slower, and with fewer slips."
		}
		return "Slower; " + unmoved(none)
	case practice.Level:
		switch p.Slips() {
		case practice.Greater:
			return "More slips, and neither faster nor slower beyond chance."
		case practice.Less:
			return "Fewer slips, and neither faster nor slower beyond chance."
		}
		return "Neither faster nor slower beyond chance; " + unmoved(none)
	}
	switch p.Slips() {
	case practice.Greater:
		return "More slips; too few reactions to tell of speed."
	case practice.Less:
		return "Fewer slips; too few reactions to tell of speed."
	}
	return "Too few reactions to tell of speed; " + unmoved(none)
}

func unmoved(none bool) string {
	if none {
		return "no slip in either half."
	}
	return "slips have not moved beyond chance."
}

// learning says whether the power law of practice holds.
func learning(s *practice.Series) string {
	c := &s.Curve
	interval := fmt.Sprintf("95 %% interval %s to %s", rounded(c.Low, 2), rounded(c.High, 2))
	figures := fmt.Sprintf("R2 %.2f, %s", c.R2, Count(c.Of, "sitting"))
	switch c.Learning {
	case practice.Learns:
		law := fmt.Sprintf("T = %s x N^-%.2f", seconds(c.A), c.B)
		if c.Floor > 0 {
			return fmt.Sprintf("Supported: T = %s + %s x N^-%.2f (%s; AICc %.1f lower than without a floor; without one b has the %s). By this law no practice brings a reaction below %s.",
				seconds(c.Floor), seconds(c.A), c.B, figures, c.Gain, interval, seconds(c.Floor))
		}
		return fmt.Sprintf("Supported: %s (b %.2f, %s; %s). Each doubling of practice takes a reaction to %.0f %% of what it was.", law, c.B, interval, figures, 100*c.Doubling())
	case practice.Flat:
		return fmt.Sprintf("Not supported: the exponent b is %s, and its %s has 0 in it (%s).", rounded(c.B, 2), interval, figures)
	case practice.Unlearns:
		return fmt.Sprintf("Not supported: reactions get longer and not shorter (b %s, %s; %s).", rounded(c.B, 2), interval, figures)
	}
	if c.Of >= practice.LeastTimes {
		return "Not supported: the sittings do not differ in how much practice there was before."
	}
	return fmt.Sprintf("Not supported: it takes %d complete sittings with reactions to the same, and there %s.", practice.LeastTimes, isOrAre(c.Of))
}

// mostNamed is how many of the best and of the worst are named in a sentence.
const mostNamed = 3

// latestTimes says how many of the latest times something is of, of standings that are not empty.
func latestTimes(n int) string {
	if n == 1 {
		return "1"
	}
	return fmt.Sprintf("the latest %d", n)
}

func (c *Called) worst(list []practice.Standing) string {
	var wrong []practice.Standing
	for _, s := range list {
		if s.Wrong > 0 {
			wrong = append(wrong, s)
		}
	}
	if len(wrong) == 0 {
		return fmt.Sprintf("None of %s was wrong of late (the latest %d times of each at most).", Count(len(list), "item"), practice.RecentMost)
	}
	return c.few(wrong, func(s *practice.Standing) string {
		return fmt.Sprintf("wrong %d of %s", s.Wrong, latestTimes(s.Latest))
	}, "%d more that were wrong")
}

// slowest names what was right and took longer than its par, the slowest first.
func (c *Called) slowest(list []practice.Standing) string {
	var slow []practice.Standing
	timed := 0
	for _, s := range list {
		if s.Pace > 0 {
			timed++
		}
		if s.Pace > 1 {
			slow = append(slow, s)
		}
	}
	switch {
	case timed == 0:
		return "No item has a reaction."
	case len(slow) == 0:
		return fmt.Sprintf("None of %s with reactions is slower than its par, by the median of late.", Count(timed, "item"))
	}
	slices.SortStableFunc(slow, func(a, b practice.Standing) int { return cmp.Compare(b.Pace, a.Pace) })
	return c.few(slow, func(s *practice.Standing) string {
		return fmt.Sprintf("%s, %.2f times its par", seconds(s.MS), s.Pace)
	}, "%d more that are slower than their par")
}

// best names what was never wrong of late, what was met most often first, then the quickest for its par.
func (c *Called) best(list []practice.Standing) string {
	var good []practice.Standing
	often := false
	for _, s := range list {
		often = often || s.Latest >= practice.LeastFlawless
		if s.Flawless() {
			good = append(good, s)
		}
	}
	switch {
	case !often:
		return fmt.Sprintf("Not told before an item was met %d times.", practice.LeastFlawless)
	case len(good) == 0:
		return fmt.Sprintf("No item that was met %d times or more was right each time of late.", practice.LeastFlawless)
	}
	untimed := func(s practice.Standing) int {
		if s.Pace > 0 {
			return 0
		}
		return 1
	}
	slices.SortStableFunc(good, func(a, b practice.Standing) int {
		return cmp.Or(cmp.Compare(b.Latest, a.Latest), cmp.Compare(untimed(a), untimed(b)), cmp.Compare(a.Pace, b.Pace), cmp.Compare(a.Name, b.Name))
	})
	return c.few(good, func(s *practice.Standing) string {
		text := "right each of " + latestTimes(s.Latest)
		if s.Pace > 0 {
			text += fmt.Sprintf(", %.2f times its par", s.Pace)
		}
		return text
	}, "%d more that were right each time of late")
}

// few names the first of a list, each with what is said of it, and says how many more there are.
func (c *Called) few(list []practice.Standing, say func(*practice.Standing) string, more string) string {
	var parts []string
	for i := range list[:min(len(list), mostNamed)] {
		parts = append(parts, fmt.Sprintf("%s (%s)", c.Thing(list[i].Thing), say(&list[i])))
	}
	if n := len(list) - mostNamed; n > 0 {
		parts = append(parts, "and "+fmt.Sprintf(more, n))
	}
	return strings.Join(parts, "; ") + "."
}

// AboutAbnormals says what the table of abnormals is of.
func AboutAbnormals() string {
	return fmt.Sprintf("The latest %d times of each at most, whatever was flown. Right is noticed untold, and acted on rightly and in time.", practice.RecentMost)
}

// AboutBoard says what trainees are compared by.
func (c *Called) AboutBoard(b *practice.Board) string {
	sat := 0
	for i := range b.Rows {
		if !b.Rows[i].Latest.IsZero() {
			sat++
		}
	}
	switch {
	case sat == 0:
		return "Nobody has a complete sitting, so only how many there are is compared."
	case sat == 1:
		return fmt.Sprintf("Only one has a complete sitting, over %s: there is nobody to compare it with.", Count(b.Shared, kindOf(b.Flow)))
	case b.Shared == 0:
		return fmt.Sprintf("The latest complete sittings have no %s in common, so only how many there are is compared.", kindOf(b.Flow))
	}
	had := "asked"
	if !b.Flow {
		had = "had"
	}
	return fmt.Sprintf("Passed is of those that are complete; then the latest complete sitting of each, over the %s that all of these %s, with the median reaction.", Count(b.Shared, kindOf(b.Flow)), had)
}

// AboutAbnormalBoard says the same of abnormals.
func AboutAbnormalBoard(b *practice.AbnormalBoard) string {
	if len(b.Shared) == 0 {
		return "No abnormal was met by all who met any, so only how many there are is compared."
	}
	return fmt.Sprintf("Over the %s that all of these have met, the latest %d times of each at most.", Count(len(b.Shared), "abnormal"), practice.RecentMost)
}
