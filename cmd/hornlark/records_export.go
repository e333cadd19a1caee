package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/outfile"
	"hornlark/drill"
	"hornlark/drill/debrief"
	"hornlark/drill/fault"
	"hornlark/drill/inert"
	"hornlark/drill/library"
	"hornlark/drill/procedure"
	"hornlark/drill/record"
)

// exportOptions are what "hornlark export" was told.
type exportOptions struct {
	streams
	as      string
	trainee string
	out     output
	home    string
	schema  bool
	aliases bool
	far     *progress
	left    int // sittings that are not in it
}

func newExport(s streams) *cobra.Command {
	o := &exportOptions{streams: s}
	c := &cobra.Command{
		Use:   "export",
		Short: "Write the records for another desk, a spreadsheet or a learning record store",
		Long: `Writes the records:

  json   all that is kept: keys, logs, results and documents. "hornlark import" takes it in at another desk without any
         loss; --schema prints its JSON Schema (draft 2020-12).
  csv    a row for each item and each injection (RFC 4180), with these columns:
` + columnHelp() + `
  xapi   statements of IEEE 9274.1.1 (xAPI 2.0, and 1.0.3 alike), as one JSON array: one for each sitting, each item
         that was reached and each abnormal. The trainee is an account at --home, by name. Whoever sends them sets the
         header X-Experience-API-Version. Exported again they have the same ids. The context of each has the extensions
         policy, seed, caution and, where HORNLARK_NOW had set the date, date-set, below https://hornlark.example/xapi/extensions/: the caution that goes over all of it.

A sitting that was killed is scored as incomplete in csv and xapi; json has its log, and no result. One that cannot be read or
judged, or of which json would have only the beginning since it still goes on, is left out, and told of.

With --aliases trainees are named by aliases in csv and xapi: the same one each time, and not to be turned back without the
key in the folder of the records. A statement that was sent keeps its name: begin with aliases or without.

Exit status: 0 everything is in it, 1 something was left out or could not be written, 2 usage.`,
		Example: `  hornlark export --as json --out course.json
  hornlark export --as csv --trainee kim --out kim.csv
  hornlark export --as xapi --home https://school.example --out statements.json
  hornlark export --schema`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return errors.Join(o.run(c.Context()), o.whole()) },
	}
	f := c.Flags()
	f.StringVar(&o.as, "as", "json", "csv, json or xapi")
	f.StringVar(&o.trainee, "trainee", "", "only this one's")
	f.StringVar(&o.out.path, "out", outfile.Stdout, "file; - is the standard output")
	o.out.private = true
	o.out.forceFlag(c)
	f.StringVar(&o.home, "home", debrief.Home, "of xapi: home page of the accounts")
	f.BoolVar(&o.aliases, "aliases", false, "of csv and xapi: an alias in place of each trainee's name")
	f.BoolVar(&o.schema, "schema", false, "print the JSON Schema of json and do nothing else")
	must(c.RegisterFlagCompletionFunc("trainee", completeTrainees))
	must(c.RegisterFlagCompletionFunc("as", words("csv", "json", "xapi")))
	return c
}

func columnHelp() string {
	var b strings.Builder
	for _, c := range debrief.Columns {
		fmt.Fprintf(&b, "           %-13s %s\n", c.Name, c.Means)
	}
	return b.String()
}

func (o *exportOptions) run(ctx context.Context) error {
	if o.schema {
		_, err := o.document().Write(record.Schema)
		return err
	}
	writers := map[string]func(*record.Store, io.Writer) (int, error){"csv": o.csv, "json": o.json, "xapi": o.xapi}
	as, ok := writers[o.as]
	if !ok {
		return usageError{fmt.Errorf("there is no export as %q; %s", o.as, fault.Suggest(o.as, []string{"csv", "json", "xapi"}))}
	}
	if home, err := url.Parse(o.home); err != nil || home.Scheme == "" || home.Host == "" {
		return usageError{fmt.Errorf("%q is no home page; write one like https://school.example", o.home)}
	}
	if o.aliases && o.as == "json" {
		return usageError{errors.New("json is for another desk, which has to know the trainees: add --aliases to csv or xapi")}
	}
	store, err := openRecords(o.streams)
	if err != nil {
		return err
	}
	defer store.Close()
	if names, err := store.Trainees(); o.trainee != "" && err == nil && !slices.Contains(names, o.trainee) {
		return unknownTrainee(store, o.trainee)
	}
	o.far = o.progress("exporting")
	defer o.far.end()
	var n int
	err = o.out.write(ctx, o.streams, func(to io.Writer) (err error) {
		out := bufio.NewWriterSize(to, 1<<16)
		if n, err = as(store, stoppableWriter{ctx, out}); err != nil {
			return err
		}
		return out.Flush()
	})
	if err != nil || o.out.path == outfile.Stdout {
		return err
	}
	fmt.Fprintf(o.streams.out, "%s: %s\n", inert.Line(o.out.path), debrief.Count(n, "sitting"))
	return nil
}

func (o *exportOptions) filter() record.Filter { return record.Filter{Trainee: o.trainee} }

func (o *exportOptions) json(store *record.Store, out io.Writer) (int, error) {
	n, err := store.Export(inert.JSON(out), o.filter(), debrief.Caution, o.far.at)
	var left *record.LeftOut
	if errors.As(err, &left) {
		for _, err := range left.Sittings {
			o.leaveOut(err)
		}
		return n, nil // the file is whole without them
	}
	return n, err
}

// leaveOut tells of a sitting that is not in the export.
func (o *exportOptions) leaveOut(err error) {
	o.left++
	fmt.Fprintf(o.err, "left out: %v\n", err)
}

// whole is an error if something was left out.
func (o *exportOptions) whole() error {
	if o.left == 0 {
		return nil
	}
	return fmt.Errorf("%s left out of the export", debrief.Count(o.left, "sitting"))
}

func (o *exportOptions) csv(store *record.Store, out io.Writer) (int, error) {
	table := debrief.NewTable(out)
	n, err := o.each(store, func(s *debrief.Sitting) error {
		table.Add(s)
		return nil
	})
	return n, errors.Join(err, table.Close())
}

func (o *exportOptions) xapi(store *record.Store, to io.Writer) (int, error) {
	out := inert.JSON(to)
	fmt.Fprint(out, "[")
	comma := "\n"
	n, err := o.each(store, func(s *debrief.Sitting) error {
		for _, statement := range debrief.Statements(s, o.home) {
			body, err := json.Marshal(statement)
			if err != nil {
				return err
			}
			if _, err := fmt.Fprintf(out, "%s%s", comma, body); err != nil {
				return err
			}
			comma = ",\n"
		}
		return nil
	})
	if err == nil {
		_, err = fmt.Fprint(out, "\n]\n")
	}
	return n, err
}

// each goes through the sittings, the oldest first. One that cannot be judged is told of and left out.
func (o *exportOptions) each(store *record.Store, do func(*debrief.Sitting) error) (n int, err error) {
	list, err := store.IDs(o.filter())
	if err != nil {
		return 0, err
	}
	plans := desk.Plans{}
	for i, id := range list {
		o.far.at(i, len(list))
		s, err := judgedOf(store, id, plans)
		switch {
		case err != nil:
			o.leaveOut(err)
			continue
		case s == nil:
			continue // deleted meanwhile
		}
		if o.aliases {
			if s.Trainee, err = store.Alias(s.Trainee); err != nil {
				return n, err
			}
		}
		if err := do(s); err != nil {
			return n, err
		}
		n++
	}
	return n, nil
}

// judgedOf takes a sitting out of the records for an export.
func judgedOf(store *record.Store, id int64, plans desk.Plans) (*debrief.Sitting, error) {
	found, err := store.Sittings(record.Filter{ID: id})
	if err != nil || len(found) == 0 {
		return nil, err
	}
	k, err := plans.Load(store, found[0])
	if err != nil {
		return nil, err
	}
	result, err := (&keptSitting{k}).keptResult()
	if err != nil {
		return nil, fmt.Errorf("sitting %d: %w", id, err)
	}
	names := map[string]string{}
	k.Ex.Procedure().Each(func(_ *procedure.Phase, it *procedure.Item) { names[it.ID] = it.Challenge })
	return &debrief.Sitting{
		ID: k.ID, UID: k.UID, Trainee: k.Trainee, Scenario: k.Scenario, Title: titleOf(k.Ex.Bundle), Procedure: k.Procedure,
		Profile: k.Profile, Policy: k.Policy, Version: k.Version, State: string(k.State), Seed: k.Seed, Started: k.Started, Moved: k.Moved,
		Names: names, Log: k.Ex.Log, Result: result, Caution: debrief.CautionOf(k.Ex.Profile),
	}, nil
}

func newImport(s streams) *cobra.Command {
	return &cobra.Command{
		Use:   "import FILE...",
		Short: "Take in records that were exported as JSON at another desk",
		Long: `Takes in what "hornlark export --as json" wrote at this or another desk. Trainees of the same name are one. A sitting is
known by its content: its log, its documents, its trainee and its start. One that is here already is skipped, so that a
file may be imported again; one that is here and differs is refused, and nothing that is kept is changed. A sitting with anything
wrong in it is refused whole, and the others go in; a file that is no export is refused whole: file:line: where in it: what.

Exit status: 0 everything is in, 2 a sitting or a file was refused.`,
		Example: `  hornlark import desk-1.json desk-2.json`,
		Args:    cobra.MinimumNArgs(1),
		RunE:    func(c *cobra.Command, paths []string) error { return importRun(c.Context(), s, paths) },
	}
}

func importRun(ctx context.Context, s streams, paths []string) error {
	store, err := openRecords(s)
	if err != nil {
		return err
	}
	defer store.Close()
	var refused []error
	for _, path := range paths {
		done, err := importFile(ctx, s, store, path)
		if ctx.Err() != nil && err != nil {
			return err
		}
		if err != nil {
			refused = append(refused, err)
			continue
		}
		fmt.Fprintf(s.out, "%s: %s new, %d known already\n", path, debrief.Count(done.New, "sitting"), done.Known)
		refused = append(refused, refusals(path, done.Refused)...)
	}
	if len(refused) > 0 {
		return usageError{errors.Join(refused...)}
	}
	return nil
}

// maxTold is how many refused sittings of a file are told of one by one.
const maxTold = 20

// refusals gives a line for each sitting that was refused.
func refusals(path string, refused []*record.ImportError) (lines []error) {
	file, err := os.Open(path)
	if err != nil {
		return []error{err}
	}
	defer file.Close()
	for i, wrong := range refused {
		if i == maxTold {
			return append(lines, fmt.Errorf("%s: and %d more were refused", path, len(refused)-i))
		}
		lines = append(lines, fmt.Errorf("%s:%d: refused: %w", path, lineAt(file, wrong.Offset), wrong))
	}
	return lines
}

func importFile(ctx context.Context, s streams, store *record.Store, path string) (record.Imported, error) {
	file, err := os.Open(path)
	if err != nil {
		return record.Imported{}, err
	}
	defer file.Close()
	far := s.progress("importing " + inert.Line(filepath.Base(path)) + ", %")
	defer far.end()
	done, err := store.Import(bufio.NewReaderSize(stoppableReader{ctx, newPassage(file, far)}, 1<<16), importChecks())
	var wrong *record.ImportError
	if cause := context.Cause(ctx); err != nil && cause != nil {
		return done, cause
	}
	if errors.As(err, &wrong) {
		return done, fmt.Errorf("%s:%d: %w", path, lineAt(file, wrong.Offset), err)
	}
	if err != nil {
		return done, fmt.Errorf("%s: %w", path, err)
	}
	return done, nil
}

// passage is a file that is read from its beginning to its end.
type passage struct {
	*os.File
	done, size int64
	far        *progress
}

func newPassage(file *os.File, far *progress) *passage {
	p := &passage{File: file, far: far}
	if info, err := file.Stat(); err == nil {
		p.size = info.Size()
	}
	return p
}

func (p *passage) Read(b []byte) (int, error) {
	n, err := p.File.Read(b)
	if p.done += int64(n); p.size > 0 {
		p.far.at(int(100*p.done/p.size), 100)
	}
	return n, err
}

// importChecks are what the records themselves cannot know. Documents that many sittings share are checked once, since
// a file has them once.
func importChecks() record.Checks {
	return record.Checks{
		Documents: func(body json.RawMessage) error {
			_, err := library.Unpack(body)
			return err
		},
		Input: func(_ int, body json.RawMessage) error { // what an event of an earlier version lacks could not happen then
			_, err := drill.DecodeEvent(body)
			return err
		},
		Digest: func(body json.RawMessage) (record.Digest, error) {
			result, err := decodeResult(body)
			if err != nil {
				return record.Digest{}, err
			}
			return desk.DigestOf(result), nil
		},
		Sitting: newClaims().check,
	}
}

// lineAt gives the line, from 1, of the first thing at or after an offset that is neither a blank nor a comma.
func lineAt(file io.ReadSeeker, offset int64) int {
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return 0
	}
	in := bufio.NewReader(file)
	line := 1
	for at := int64(0); ; at++ {
		c, err := in.ReadByte()
		if err != nil || at >= offset && !strings.ContainsRune(" \t\r\n,:", rune(c)) {
			return line
		}
		if c == '\n' {
			line++
		}
	}
}
