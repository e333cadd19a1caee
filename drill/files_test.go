package drill_test

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// writes are the functions that begin, replace or rename files, by package. Folders are no files.
var writes = map[string][]string{
	"os":                       {"Create", "CreateTemp", "WriteFile", "OpenFile", "Rename", "Link", "Symlink", "Truncate", "CopyFS", "OpenRoot"},
	"io/ioutil":                {"WriteFile", "TempFile"},
	"syscall":                  {"Open", "Openat", "Creat", "Rename", "Renameat", "Link", "Symlink", "Mknod", "Truncate", "CreateFile"},
	"golang.org/x/sys/unix":    {"Open", "Openat", "Openat2", "Creat", "Rename", "Renameat", "Renameat2", "Link", "Linkat", "Symlink", "Symlinkat", "Mknod", "Mkfifo", "Truncate"},
	"golang.org/x/sys/windows": {"CreateFile", "Rename", "MoveFile", "MoveFileEx"},
}

// writers are the packages that may: what a user names, what the program keeps for itself, the records, and the courses. Each has tests that kill it. What
// runs a server for tests is none of the program.
var writers = []string{"cmd/hornlark/outfile", "audio/whole", "drill/record", "drill/library/course", "audio/soundtest"}

// writing gives the places of a file that open others for writing. A device of the system may be opened by its name, and whatever is opened
// to be read.
func writing(file *ast.File, set *token.FileSet) (found []string) {
	names := map[string][]string{}
	for _, im := range file.Imports {
		path, _ := strconv.Unquote(im.Path.Value)
		name := path[strings.LastIndex(path, "/")+1:]
		if im.Name != nil {
			name = im.Name.Name
		}
		if list := writes[path]; list != nil {
			if name == "." {
				found = append(found, fmt.Sprintf("%v: imports everything of %s", set.Position(im.Pos()), path))
			}
			names[name] = list
		}
	}
	device := map[ast.Expr]bool{} // calls' functions that open a device by its name
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.CallExpr:
			if len(n.Args) > 0 {
				if at, ok := n.Args[0].(*ast.BasicLit); ok && slices.Contains([]string{`"/dev/tty"`, `"CONIN$"`}, at.Value) {
					device[n.Fun] = true
				}
			}
		case *ast.SelectorExpr:
			of, ok := n.X.(*ast.Ident)
			if ok && slices.Contains(names[of.Name], n.Sel.Name) && !device[n] {
				found = append(found, fmt.Sprintf("%v: %s.%s", set.Position(n.Pos()), of.Name, n.Sel.Name))
			}
		}
		return true
	})
	return found
}

// Files are written in few places, where nothing is left half written, no link is followed, and no name is somebody else's.
func TestFewWriteFiles(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range sourcesBelow(t, "..") {
		pkg := strings.TrimPrefix(filepath.ToSlash(filepath.Dir(s.name)), "../")
		if strings.HasPrefix(pkg, "scripts/") {
			continue // for who works on the program, and no part of it
		}
		found := writing(s.file, s.set)
		if slices.Contains(writers, pkg) {
			seen[pkg] = seen[pkg] || len(found) > 0
			continue
		}
		for _, place := range found {
			t.Errorf("%s writes a file; whole.Write and outfile.Create do that", place)
		}
	}
	for _, pkg := range writers {
		if !seen[pkg] {
			t.Errorf("%s writes no files, and need not be allowed to", pkg)
		}
	}
	// The look itself finds what it is for.
	for body, finds := range map[string]bool{
		`import "os"; func f() { os.WriteFile("a", nil, 0) }`:               true,
		`import disk "os"; func f() { disk.Create("a") }`:                   true,
		`import . "os"; func f() { Create("a") }`:                           true,
		`import "os"; var f = os.Rename`:                                    true,
		`import "os"; func f() { os.OpenFile("/dev/tty", os.O_RDWR, 0) }`:   false,
		`import "os"; func f() { os.OpenFile("/dev/sda", os.O_RDWR, 0) }`:   true,
		`import "os"; func f() { os.Open("a"); os.MkdirAll("b", 0) }`:       false,
		`import "golang.org/x/sys/unix"; func f() { unix.Open("a", 0, 0) }`: true,
		`func f(os interface{ Writefile() }) { os.Writefile() }`:            false,
		`import "syscall"; func f() { g := syscall.Open; g("a", 0, 0) }`:    true,
	} {
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, "x.go", "package x\n"+body, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		if got := writing(file, set); (len(got) > 0) != finds {
			t.Errorf("%s: found %q", body, got)
		}
	}
}
