package debrief

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"hornlark/drill/practice"
)

// question is how wide the column of questions is.
const question = 17

// answers gives what the sittings of somebody answer.
func (p *Person) answers(w *writer, c *Called) {
	if p.Review == nil {
		w.para("", "Of sittings without a name nothing more is told: they may be anybody's.")
		return
	}
	if len(p.Review.Series) == 0 {
		w.para("", "No sitting has ended that can be judged, so nothing more is told.")
		return
	}
	w.para("", Compared)
	for i := range p.Review.Series {
		s := &p.Review.Series[i]
		w.line("")
		w.hanging("  ", fmt.Sprintf("%s: %s", c.Kin(s.Kin), SeriesWords(s)))
		for _, a := range c.Series(s) {
			w.hanging(fmt.Sprintf("    %-*s", question, a.Question), a.Text)
		}
	}
	if len(p.Review.Abnormals) > 0 {
		w.line("")
		w.hanging("  ", "Abnormals, worst first. "+AboutAbnormals())
		for i := range p.Review.Abnormals[:min(len(p.Review.Abnormals), mostAbnormals)] {
			w.hanging("    ", c.abnormal(&p.Review.Abnormals[i]))
		}
		if n := len(p.Review.Abnormals) - mostAbnormals; n > 0 {
			w.line("    and %d more, all of them on the page (--html) and in the table (--csv)", n)
		}
	}
	w.line("")
	w.hanging("  ", "From the first to the latest, by scenario and by abnormal:")
}

// mostAbnormals is how many abnormals the text has room for.
const mostAbnormals = 8

// SeriesWords says how many sittings a series has, and how they went.
func SeriesWords(s *practice.Series) string {
	return fmt.Sprintf("%s, %d complete, %d passed", Count(s.Sittings, "sitting"), s.Complete, s.Passed)
}

// AbnormalHead is the head of the rows of abnormals.
var AbnormalHead = []string{"abnormal", "met", "right", "not noticed", "told first", "noticed after"}

// AbnormalRow is one abnormal as it is shown.
func (c *Called) AbnormalRow(s *practice.Standing) []string {
	after := "-"
	if s.Timed > 0 {
		after = fmt.Sprintf("%s of %d", seconds(s.MS), s.Timed)
	}
	return []string{c.Thing(s.Thing), fmt.Sprint(s.Met), fmt.Sprintf("%d of %d", s.Latest-s.Wrong, s.Latest), fmt.Sprint(s.Unnoticed), fmt.Sprint(s.Told), after}
}

// ItemHead is the head of the rows of items.
var ItemHead = []string{"item", "met", "wrong", "median reaction", "by its par"}

// ItemRow is one item as it is shown.
func (c *Called) ItemRow(s *practice.Standing) []string {
	after, pace := "-", "-"
	if s.Timed > 0 {
		after = fmt.Sprintf("%s of %d", seconds(s.MS), s.Timed)
	}
	if s.Pace > 0 {
		pace = fmt.Sprintf("%.2f", s.Pace)
	}
	return []string{c.Thing(s.Thing), fmt.Sprint(s.Met), fmt.Sprintf("%d of %d", s.Wrong, s.Latest), after, pace}
}

// abnormal is one abnormal in words.
func (c *Called) abnormal(s *practice.Standing) string {
	text := fmt.Sprintf("%s: right %d of %s", c.Thing(s.Thing), s.Latest-s.Wrong, latestTimes(s.Latest))
	if s.Unnoticed > 0 {
		text += fmt.Sprintf(", %d not noticed", s.Unnoticed)
	}
	if s.Told > 0 {
		text += fmt.Sprintf(", %d told first", s.Told)
	}
	if s.Timed > 0 {
		text += fmt.Sprintf("; noticed after %s (median of %d)", seconds(s.MS), s.Timed)
	}
	return text + "."
}

// table writes rows in columns, the first of them the head.
func (w *writer) table(rows [][]string) {
	var b strings.Builder
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	for i, row := range rows {
		line := strings.Join(row, "\t")
		if i == 0 {
			line = strings.ToUpper(line)
		}
		fmt.Fprintln(t, "  "+line)
	}
	t.Flush()
	for line := range strings.Lines(b.String()) {
		w.line("%s", strings.TrimRight(line, "\n"))
	}
}

// BoardHead is the head of the rows of trainees side by side, and AbnormalBoardHead that of their abnormals.
var (
	BoardHead         = []string{"trainee", "sat", "passed", "latest", "right", "reaction"}
	AbnormalBoardHead = []string{"trainee", "met", "right", "not noticed"}
)

// BoardRow is one trainee as shown beside the others.
func (p *Progress) BoardRow(b *practice.Board, r *practice.BoardRow) []string {
	row := []string{p.People[r.Who].Name, fmt.Sprint(r.Sittings), fmt.Sprintf("%d of %d", r.Passed, r.Complete), "-", "-", "-"}
	if r.Latest.IsZero() {
		return row
	}
	row[3] = "not passed"
	if r.LatestPassed {
		row[3] = "passed"
	}
	if b.Shared > 0 {
		row[4] = fmt.Sprintf("%d of %d", r.Right, b.Shared)
	}
	if r.Timed > 0 {
		row[5] = fmt.Sprintf("%s of %d", seconds(r.MS), r.Timed)
	}
	return row
}

// AbnormalBoardRow is the same of abnormals.
func (p *Progress) AbnormalBoardRow(r *practice.AbnormalRow) []string {
	row := []string{p.People[r.Who].Name, fmt.Sprint(r.Met), "-", "-"}
	if r.Times > 0 {
		row[2], row[3] = fmt.Sprintf("%d of %d", r.Right, r.Times), fmt.Sprint(r.Unnoticed)
	}
	return row
}

// NothingSideBySide is said where there is nobody to compare with.
const NothingSideBySide = "No two trainees have sat the same procedure under the same policy, or met an abnormal each, so nobody stands beside anybody."

func (p *Progress) sideBySide(w *writer) {
	if len(p.Boards) == 0 && p.Abnormals == nil {
		if p.Class {
			w.para("", NothingSideBySide)
		}
		return
	}
	w.rule("Side by side")
	for i := range p.Boards {
		b := &p.Boards[i]
		if i > 0 {
			w.line("")
		}
		w.hanging("  ", p.Called.Kin(b.Kin)+". "+p.Called.AboutBoard(b))
		rows := [][]string{BoardHead}
		for k := range b.Rows {
			rows = append(rows, p.BoardRow(b, &b.Rows[k]))
		}
		w.table(rows)
	}
	if b := p.Abnormals; b != nil {
		if len(p.Boards) > 0 {
			w.line("")
		}
		w.hanging("  ", "Abnormals. "+AboutAbnormalBoard(b))
		rows := [][]string{AbnormalBoardHead}
		for k := range b.Rows {
			rows = append(rows, p.AbnormalBoardRow(&b.Rows[k]))
		}
		w.table(rows)
	}
}
