package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/adrg/xdg"
	"github.com/spf13/cobra"

	"hornlark/audio/tone"
	"hornlark/audio/voice"
	"hornlark/drill/inert"
	"hornlark/drill/library"
	"hornlark/drill/library/course"
)

// dataFolder is the folder of the records, whether it is there or not: nothing is made for the question.
func dataFolder() string {
	if folder := os.Getenv("HORNLARK_DATA"); folder != "" {
		return folder
	}
	return filepath.Join(xdg.DataHome, "hornlark")
}

// coursesFolder is where courses are installed, beside the records.
func coursesFolder() string { return filepath.Join(dataFolder(), "courses") }

// openCourses is the courses that are installed. Nothing is made for it.
func openCourses() *course.Shelf { return course.Open(coursesFolder()) }

// coursesThere reports whether courses have ever been installed.
func coursesThere() bool {
	_, err := os.Stat(coursesFolder())
	return err == nil
}

// voicesWith is what comes with the course of a sitting, for the voices; nothing, if it is of none.
func voicesWith(b *library.Bundle) voice.Options {
	in, found := courseOf(b)
	if !found {
		return voice.Options{}
	}
	return voice.Options{Under: in.Lexicon(), Clips: in.Clips()}
}

// courseOf is the course that a sitting is of. A scenario that is made for an evening, or somebody's own, is in none: then it is that of the
// procedure that is spoken, or else of the aircraft, or else of what goes wrong.
func courseOf(b *library.Bundle) (course.Installed, bool) {
	none := course.Installed{}
	if !coursesThere() {
		return none, false
	}
	if in, found := openCourses().Find(b.Scenario.Name); found {
		return in, true
	}
	lib, err := library.Builtin()
	if err != nil {
		return none, false // whoever reads the documents says so
	}
	if _, err := lib.Scenario(b.Scenario.Name); err == nil {
		return none, false
	}
	lib, list := openCourses().Lay(lib)
	names := []string{lib.CourseOf(library.Procedure, b.Procedure.Name), lib.CourseOf(library.Profile, b.Profile.Name)}
	for _, a := range b.Abnormals {
		names = append(names, lib.CourseOf(library.Abnormal, a.Name))
	}
	for _, name := range names {
		if i := slices.IndexFunc(list, func(in course.Installed) bool { return in.Name == name && in.Broken == "" }); i >= 0 {
			return list[i], true
		}
	}
	return none, false
}

// heardIn looks at what is heard of a course, until somebody stops it.
func heardIn(ctx context.Context) course.Sounds {
	return course.Sounds{
		Lexicon: func(data []byte) error { return voice.CheckLexicon(data, course.Lexicon) },
		Tones:   tone.Check,
		Clip: func(data []byte) error {
			if err := context.Cause(ctx); err != nil {
				return err
			}
			return voice.CheckClip(data)
		},
	}
}

func newCourse(s streams) *cobra.Command {
	c := &cobra.Command{
		Use:   "course",
		Short: "Pass documents on as a course: pack, check, add, list, remove",
		Long: `A course is a folder of documents and what is heard with them, passed on as one file. course.yaml in it says what it is:

    name: spring
    title: Spring refresher
    by: Skerry Sound training
    version: "1.0"
    scenarios: [monday, tuesday]

Beside it may lie YAML documents, also in folders, lexicon.yaml, tones.yaml, and in voice/ clips that "hornlark voice render --into"
has made. What arrives is checked before anything of it is used: its size, its names, that it stays in its folder, and every document.
Nothing in it is run. Once it is added, its documents are found by their names as those that are built in are.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(newCoursePack(s), newCourseCheck(s), newCourseAdd(s), newCourseList(s), newCourseRemove(s))
	for _, sub := range c.Commands() {
		asUsage(sub)
	}
	return c
}

// readCourse reads a folder or a package, and checks it against what is built in.
func readCourse(ctx context.Context, path string) (*course.Course, *library.Library, error) {
	lib, err := library.Builtin()
	if err != nil {
		return nil, nil, err
	}
	c, err := course.Read(path, heardIn(ctx))
	if stopped := context.Cause(ctx); stopped != nil {
		return nil, nil, stopped
	}
	return c, lib, err
}

// about says what a course is, in a line.
func about(c *course.Course) string {
	return fmt.Sprintf("%s %s (%s), by %s: scenarios: %d, files: %d, %d kB, edition %s", c.Name, c.Version, c.Title, c.By, len(c.Scenarios), c.Files(), (c.Bytes()+1023)>>10, c.Edition())
}

func newCoursePack(s streams) *cobra.Command {
	var to output
	c := &cobra.Command{
		Use:   "pack FOLDER",
		Short: "Make one file of a folder, to be passed on",
		Long: `Checks the folder of a course, and packs it into one file, a zip. The same folder gives the same bytes, whenever and wherever it
is packed. What begins with a dot in it is left out; "-" is the standard output.`,
		Example: `  hornlark course pack spring --out spring.zip`,
		Args:    cobra.ExactArgs(1),
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return nil, cobra.ShellCompDirectiveFilterDirs
		},
		RunE: func(c *cobra.Command, args []string) error {
			if to.path == "" {
				return usageError{errors.New("a package has to go somewhere: add --out FILE")}
			}
			if info, err := os.Stat(args[0]); err == nil && !info.IsDir() {
				return usageError{fmt.Errorf("%s is no folder; name the folder of a course", inert.Line(args[0]))}
			}
			packed, lib, err := readCourse(c.Context(), args[0])
			if err != nil {
				return err
			}
			if err := packed.Check(lib); err != nil {
				return within(args[0], err)
			}
			if err := to.write(c.Context(), s, func(w io.Writer) error { return packed.Pack(w) }); err != nil {
				return err
			}
			fmt.Fprintln(s.err, "packed", about(packed))
			return nil
		},
	}
	c.Flags().StringVar(&to.path, "out", "", "write the package to this file")
	to.forceFlag(c)
	return c
}

// within puts the name of what was checked before those of the files in it.
func within(path string, err error) error {
	var problems library.Problems
	if !errors.As(err, &problems) {
		return err
	}
	told := make(library.Problems, len(problems))
	for i, p := range problems {
		p.File = path + ": " + p.File
		told[i] = p
	}
	return told
}

func newCourseCheck(s streams) *cobra.Command {
	return &cobra.Command{
		Use:   "check FILE|FOLDER",
		Short: "Say what is wrong with a course, and where; nothing is installed",
		Long: `Looks at a package or a folder as "course add" does, and installs nothing.
Exit status: 0 nothing is wrong, 2 something is.`,
		Example: `  hornlark course check spring.zip`,
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			read, lib, err := readCourse(c.Context(), args[0])
			if err != nil {
				return err
			}
			if err := read.Check(lib); err != nil {
				return within(args[0], err)
			}
			fmt.Fprintf(s.out, "%s: nothing is wrong with it: %s\n", inert.Line(args[0]), about(read))
			return nil
		},
	}
}

func newCourseAdd(s streams) *cobra.Command {
	var force bool
	c := &cobra.Command{
		Use:   "add FILE|FOLDER",
		Short: "Install a course for yourself, once it has been checked",
		Long: `Checks a package or a folder, and installs it for you: whole, or not at all. A document whose name something built in has, or
another course, is refused. With --force a course takes the place of another version of it.`,
		Example: `  hornlark course add spring.zip
  hornlark course add spring-2.zip --force`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			read, lib, err := readCourse(c.Context(), args[0])
			if err != nil {
				return err
			}
			err = openCourses().Add(read, lib, force)
			var taken *course.Taken
			var problems library.Problems
			switch {
			case errors.As(err, &taken):
				return usageError{err}
			case errors.As(err, &problems):
				return within(args[0], err)
			case err != nil:
				return err
			}
			fmt.Fprintln(s.out, "added", about(read))
			fmt.Fprintf(s.out, "to begin: hornlark drill %s\n", read.Scenarios[0])
			return nil
		},
	}
	c.Flags().BoolVar(&force, "force", false, "put it in the place of another version of it")
	return c
}

// courseRow is an installed course in a list.
type courseRow struct {
	Name      string   `json:"name"`
	Title     string   `json:"title"`
	By        string   `json:"by"`
	Version   string   `json:"version"`
	Edition   string   `json:"edition"`
	Scenarios []string `json:"scenarios"`
	Broken    string   `json:"broken,omitempty"`
}

func newCourseList(s streams) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:     "list",
		Short:   "List the courses that are installed, with their scenarios in order",
		Example: `  hornlark course list`,
		Args:    cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			list, err := openCourses().Verify()
			if err != nil {
				return err
			}
			rows := []courseRow{}
			for _, in := range list {
				rows = append(rows, courseRow{in.Name, in.Title, in.By, in.Version, in.Edition, in.Scenarios, in.Broken})
			}
			if asJSON {
				return printJSON(s.out, rows)
			}
			if len(list) == 0 {
				fmt.Fprintln(s.out, "No course is installed; hornlark course add installs one.")
				return nil
			}
			w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
			for _, in := range list {
				if in.Broken != "" {
					fmt.Fprintln(w, in.Said())
					continue
				}
				fmt.Fprintf(w, "%s\t%s\tversion %s, edition %s, by %s\n", in.Name, in.Title, in.Version, in.Edition, in.By)
				fmt.Fprintf(w, "\t%s\t\n", strings.Join(in.Scenarios, ", "))
			}
			return w.Flush()
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "give the list as JSON")
	return c
}

func newCourseRemove(s streams) *cobra.Command {
	return &cobra.Command{
		Use:     "remove NAME",
		Short:   "Take a course away; sittings of it stay in the records, and can be replayed",
		Example: `  hornlark course remove spring`,
		Args:    cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			err := openCourses().Remove(args[0])
			var unknown *course.Unknown
			if errors.As(err, &unknown) {
				return usageError{err}
			}
			if err == nil {
				fmt.Fprintln(s.out, "removed", inert.Line(args[0]))
			}
			return err
		},
		ValidArgsFunction: completeCourses,
	}
}
