package main

import (
	"cmp"
	"context"
	"fmt"
	"os"
	"slices"
	"strconv"

	"hornlark/cmd/hornlark/outfile"
	"hornlark/drill/library"
	"hornlark/drill/library/course"
	"hornlark/drill/scenario"
)

// coursePackage is a course that is written to a file: the file, which is begun before a seed is tried, and what goes into each of them.
type coursePackage struct {
	preview *preview
	file    *outfile.File
	beside  []library.File // what its scenarios need beside themselves
	heard   course.Sounds
	builtin *library.Library
}

// beginPackage begins the file of a course and looks whether there will be one; nil if none is to be written. Whoever has named something that
// is there already need not wait for the seeds.
func (p *preview) beginPackage(ctx context.Context) (*coursePackage, error) {
	if p.packed.path == "" {
		return nil, nil
	}
	pack := &coursePackage{preview: p, heard: heardIn(ctx)}
	var err error
	if pack.builtin, err = library.Builtin(); err != nil {
		return nil, err
	}
	lib, err := openLibrary(p.own)
	if err != nil {
		return nil, err
	}
	pack.beside = lib.Beside(p.bundle)
	if in, found := courseOf(p.bundle); found && in.Lexicon() != "" {
		words, err := os.ReadFile(in.Lexicon())
		if err != nil {
			return nil, fmt.Errorf("the words of the course %s cannot be read: %w", in.Name, err)
		}
		pack.beside = append(pack.beside, library.File{Name: course.Lexicon, Data: words})
	}
	if _, err := pack.of(slices.Repeat([]uint64{1}, p.course)); err != nil { // whatever the seeds will be
		return nil, err
	}
	p.packed.force = p.force
	pack.file, err = p.packed.create(ctx, p.streams, false)
	return pack, err
}

// name is that of a sitting of the course, from 0: what is typed to begin it.
func (c *coursePackage) name(i int) string {
	digits := max(2, len(strconv.Itoa(c.preview.course)))
	return fmt.Sprintf("%s-%0*d", c.called(), digits, i+1)
}

// called is the name of the course.
func (c *coursePackage) called() string {
	return cmp.Or(c.preview.named, c.preview.bundle.Scenario.Name+"-course")
}

// of is the course whose sittings draw from some seeds, checked as one that arrives.
func (c *coursePackage) of(seeds []uint64) (*course.Course, error) {
	p := c.preview
	title := p.title()
	about := library.Manifest{Name: c.called(), Title: fmt.Sprintf("%s, %d sittings", title, len(seeds)), By: p.by, Version: "1",
		About: "Sittings of about the same difficulty, whose surprises are as different as could be had."}
	files := c.beside
	for i, seed := range seeds {
		s := *p.bundle.Scenario
		s.Name, s.Title, s.Seed = c.name(i), fmt.Sprintf("%s (%d of %d)", title, i+1, len(seeds)), seed
		s.About = "Made of " + p.bundle.Scenario.Name + ", with what is drawn in it settled: the same each time."
		s.Policy = cmp.Or(scenario.PolicyName(p.policy), s.Policy)
		about.Scenarios = append(about.Scenarios, s.Name)
		files = append(files[:len(files):len(files)], library.File{Name: s.Name + ".yaml", Data: library.Written(&s)})
	}
	made, err := course.Made(about, files, c.heard)
	if err == nil {
		err = made.Check(c.builtin)
	}
	return made, within("the course of "+p.bundle.Scenario.Name, err)
}

// keep writes the course with the seeds that were chosen.
func (c *coursePackage) keep(seeds []uint64) error {
	made, err := c.of(seeds)
	if err != nil {
		return err
	}
	if err := made.Pack(c.file); err != nil {
		return err
	}
	return c.file.Keep()
}
