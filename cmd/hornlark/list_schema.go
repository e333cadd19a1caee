package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"

	"hornlark/cmd/hornlark/outfile"
	"hornlark/drill/fault"
	"hornlark/drill/inert"
	"hornlark/drill/library"
	"hornlark/drill/library/schema"
)

// schemaList is what is listed for editors: what a document may hold, as JSON Schema.
const schemaList = "schema"

// schema gives the schema of a kind of document, or writes those of all into a folder.
func (o *listOptions) schema(ctx context.Context, s streams, lib *library.Library, args []string) error {
	names, err := o.names(lib)
	if err != nil {
		return err
	}
	if len(args) > 1 {
		return usageError{fmt.Errorf("a schema is of one kind; leave %q out", args[1])}
	}
	if len(args) == 0 {
		if o.path == "" || o.path == outfile.Stdout {
			return usageError{fmt.Errorf("the schema of which kind? %s; or add --out and a folder for all of them", fault.Suggest("", schemaNames()))}
		}
		return o.schemas(ctx, s, names)
	}
	kind := library.Kind(args[0])
	switch {
	case !slices.Contains(schemaNames(), args[0]):
		return usageError{fmt.Errorf("there is no kind of document %q; %s", args[0], fault.Suggest(args[0], schemaNames()))}
	case kind == lexiconSchema && names != nil:
		return usageError{errors.New("how words are spoken does not hang on an aircraft; leave --profile out")}
	}
	if o.path == "" {
		o.path = outfile.Stdout
	}
	return o.write(ctx, s, func(to io.Writer) error { return writeSchema(to, kind, names) })
}

// schemaNames are what there are schemas of.
func schemaNames() []string { return append(kindNames(), lexiconSchema) }

// names are those that schemas are narrowed down to; nil: no aircraft is named.
func (o *listOptions) names(lib *library.Library) (*schema.Names, error) {
	if o.profile == "" {
		return nil, nil
	}
	p, err := o.whose(lib, "")
	if err != nil {
		return nil, err
	}
	return schema.NamesOf(lib, p), nil
}

func writeSchema(to io.Writer, kind library.Kind, names *schema.Names) error {
	if kind == lexiconSchema {
		return printJSON(to, schemaOfLexicon())
	}
	made, err := schema.Of(kind, names)
	if err != nil {
		return err
	}
	return printJSON(to, made)
}

// schemas writes all of them into a folder that is there: all, or none.
func (o *listOptions) schemas(ctx context.Context, s streams, names *schema.Names) error {
	folder := o.path
	var files []*outfile.File
	defer func() {
		for _, f := range files {
			f.Drop()
		}
	}()
	for _, name := range schemaNames() {
		kind := library.Kind(name)
		one := o.output
		one.path = filepath.Join(folder, schema.FileName(kind))
		f, err := one.create(ctx, s, false)
		if err != nil {
			return err
		}
		files = append(files, f)
		if err := writeSchema(f, kind, names); err != nil {
			return err
		}
	}
	for _, f := range files {
		if err := f.Keep(); err != nil {
			return err
		}
	}
	fmt.Fprintf(s.err, "%d schemas are in %s. An editor that checks YAML by JSON Schema is told in its settings which of them goes with which of your files.\n",
		len(files), inert.Line(folder))
	return nil
}

// onlyWith refuses options that go with another list than the one that was asked for.
func (o *listOptions) onlyWith(what string) error {
	forms := 0
	for _, given := range []bool{o.json, o.markdown, o.html != ""} {
		if given {
			forms++
		}
	}
	switch {
	case forms > 1:
		return usageError{errors.New("keep one of --json, --markdown and --html")}
	case o.html != "" && (what == "" || what == schemaList):
		return usageError{errors.New("--html is for the fields and the words of an aircraft: hornlark list fields --html fields.html")}
	case o.markdown && what != fieldsList:
		return usageError{errors.New("--markdown is for the fields: hornlark list fields --markdown")}
	case o.path != "" && what != schemaList:
		return usageError{errors.New("--out is for schemas: hornlark list schema --out FOLDER")}
	case o.profile != "" && what == "":
		return usageError{errors.New("--profile goes with what is to be listed of it, as in: hornlark list failures --profile " + o.profile)}
	}
	return nil
}
