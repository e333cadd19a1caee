package main

import (
	"context"
	"fmt"
	"strings"

	"hornlark/drill/bench"
	"hornlark/drill/debrief"
	"hornlark/drill/inert"
)

// How a course is looked for.
const (
	mostCourse  = 100
	seedsForOne = 10 // seeds that are tried for each sitting of the course, unless --runs says how many in all
	courseEach  = 6  // sittings with each seed, by which what is expected of it is known
	personsStep = 1 << 32
)

// courseJSON is what --course --json prints.
type courseJSON struct {
	Scenario string       `json:"scenario"`
	Trainee  bench.Person `json:"trainee"`
	Each     int          `json:"sittings_with_each"`
	*bench.Course
	Commands  []string `json:"commands"`          // one for each of the seeds
	Package   string   `json:"package,omitempty"` // the file that has it as a course
	Estimates string   `json:"estimates"`
	Caution   string   `json:"caution"`
}

// findCourse tries seeds, each several times, and chooses those of a course.
func (p *preview) findCourse(ctx context.Context) error {
	if p.bundle.Scenario.Drawn == nil {
		return usageError{fmt.Errorf("--course %d: %s draws nothing (it has no drawn: in it), so that every sitting has the same surprises; choose a scenario that does, such as cold-morning", p.course, p.bundle.Scenario.Name)}
	}
	pack, err := p.beginPackage(ctx)
	if err != nil {
		return err
	}
	if pack != nil {
		defer pack.file.Drop()
	}
	candidates := make([]bench.Candidate, p.runs)
	took := p.progress("trying seeds")
	total := p.runs * courseEach
	err = p.sitEach(ctx, total, func(i int) (sitting, person uint64) {
		sitting = p.seed + uint64(i/courseEach)
		return sitting, sitting + uint64(i%courseEach)*personsStep
	}, func(i int, s *bench.Sitting) error {
		took.at(i+1, total)
		candidates[i/courseEach].Take(s)
		return nil
	})
	took.end()
	if err != nil {
		return err
	}
	c, err := bench.MakeCourse(candidates, p.course)
	if err != nil {
		return usageError{fmt.Errorf("--course %d: %w", p.course, err)}
	}
	out := courseJSON{
		Scenario: p.bundle.Scenario.Name, Trainee: p.Person(), Each: courseEach, Course: c, Estimates: bench.Estimates, Caution: debrief.CautionOf(p.bundle.Profile),
	}
	seeds := make([]uint64, len(c.Seeds))
	for i := range c.Seeds {
		seeds[i] = c.Seeds[i].Seed
		command := p.command(seeds[i])
		if pack != nil {
			command = "hornlark drill " + pack.name(i)
		}
		out.Commands = append(out.Commands, command)
	}
	if pack != nil {
		out.Package = p.packed.path
		if err := pack.keep(seeds); err != nil || p.packed.path == "-" {
			return err
		}
	}
	if p.asJSON {
		return printJSON(p.out, out)
	}
	_, err = fmt.Fprintln(p.out, strings.Join(p.courseText(&out), "\n"))
	return err
}

func (p *preview) courseText(out *courseJSON) []string {
	c := out.Course
	lines := paragraph(nil, 0, fmt.Sprintf("COURSE of %s of %s (%s), chosen from %d seeds by %d sittings of a %s with each", debrief.Count(len(c.Seeds), inSittings),
		p.title(), p.bundle.Scenario.Name, c.From, out.Each, p.standInText()))
	lines = append(lines, forInstructor)
	lines = paragraph(lines, 0, fmt.Sprintf("Expected index %.1f to %.1f, standard deviation %.1f; of all seeds that were tried it is %.1f. How different the surprises of any two are: %.2f at the least, where 0 is the same and 1 nothing in common.",
		c.Least, c.Most, c.Spread, c.AllSpread, c.Distance))
	if out.Package != "" {
		lines = paragraph(lines, 0, fmt.Sprintf("It is in %s: hornlark course add %s installs it, and then each sitting begins as follows.", inert.Line(out.Package), shellWord(out.Package)))
	}
	lines = append(lines, "")
	for i := range c.Seeds {
		s := &c.Seeds[i]
		lines = append(lines, out.Commands[i])
		lines = paragraph(lines, 2, fmt.Sprintf("expected %.1f (standard error %.1f); %s", s.Expected, s.Error, p.cameIn(s.Injections)))
	}
	lines = append(lines, "")
	lines = paragraph(lines, 0, bench.Estimates)
	return paragraph(append(lines, ""), 0, out.Caution)
}
