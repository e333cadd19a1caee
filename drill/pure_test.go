package drill_test

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// source is one Go file of the project that is not a test.
type source struct {
	pkg  string // its folder below drill, "" for drill itself; or below the project
	name string
	file *ast.File
	set  *token.FileSet
}

func sourcesBelow(t *testing.T, root string) []source {
	t.Helper()
	var list []source
	err := filepath.WalkDir(root, func(name string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return err
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, name, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, filepath.Dir(name))
		list = append(list, source{pkg: strings.TrimPrefix(filepath.ToSlash(rel), "."), name: name, file: file, set: set})
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(list) == 0 {
		t.Fatalf("no sources below %s", root)
	}
	return list
}

func (s *source) imports() []string {
	var paths []string
	for _, im := range s.file.Imports {
		p, err := strconv.Unquote(im.Path.Value)
		if err == nil {
			paths = append(paths, p)
		}
	}
	return paths
}

// The only packages of drill that may touch the disk.
var impure = []string{"library", "library/course", "record"}

// What would make a sitting depend on more than its inputs: packages, and functions of packages.
var (
	forbiddenImports = []string{"os", "net", "syscall", "unsafe", "math/rand", "crypto/rand", "runtime", "io/ioutil", "path/filepath", "log", "log/slog"}
	forbiddenCalls   = map[string][]string{
		"time": {"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "NewTimer", "NewTicker", "Tick", "Local", "LoadLocation"},
		"fmt":  {"Print", "Printf", "Println", "Scan", "Scanf", "Scanln"},
	}
	// Of math/rand/v2 only what takes a seed: all else draws from the program's own source.
	allowedRand = []string{"New", "NewPCG", "NewChaCha8", "NewZipf", "Rand", "PCG", "ChaCha8", "Zipf", "Source"}
)

// impurities finds what a file uses that would make a sitting more than a function of its inputs.
func impurities(s *source) []string {
	var found []string
	names := map[string]string{} // as the file calls a package: its path
	for _, im := range s.file.Imports {
		p, _ := strconv.Unquote(im.Path.Value)
		name := path.Base(p)
		if p == "math/rand/v2" {
			name = "rand"
		}
		if im.Name != nil {
			name = im.Name.Name
		}
		names[name] = p
		if name == "." {
			found = append(found, "imports everything of "+p)
		}
		for _, bad := range forbiddenImports {
			if p == bad || strings.HasPrefix(p, bad+"/") && bad != "math/rand" {
				found = append(found, "imports "+p)
			}
		}
	}
	ast.Inspect(s.file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.GoStmt:
			found = append(found, s.set.Position(n.Pos()).String()+": starts a goroutine")
		case *ast.SelectorExpr:
			x, ok := n.X.(*ast.Ident)
			if !ok {
				break
			}
			pkg := names[x.Name]
			if slices.Contains(forbiddenCalls[pkg], n.Sel.Name) || pkg == "math/rand/v2" && !slices.Contains(allowedRand, n.Sel.Name) {
				found = append(found, s.set.Position(n.Pos()).String()+": uses "+pkg+"."+n.Sel.Name)
			}
		}
		return true
	})
	return found
}

// The core reads no clock, does no I/O, starts no goroutine and draws from no common source.
func TestCoreIsPure(t *testing.T) {
	for _, s := range sourcesBelow(t, ".") {
		if slices.Contains(impure, s.pkg) {
			continue
		}
		for _, what := range impurities(&s) {
			t.Errorf("%s: %s", s.name, what)
		}
	}
}

func TestImpuritiesAreFound(t *testing.T) {
	for _, c := range []struct{ imports, body string }{
		{`"time"`, "time.Now()"}, {`"time"`, "time.Sleep(1)"}, {`"time"`, "_ = time.Tick"}, {`clock "time"`, "clock.Since(clock.Time{})"},
		{`"os"`, ""}, {`"net/http"`, ""}, {`"math/rand"`, ""}, {`"math/rand/v2"`, "rand.IntN(3)"}, {`"math/rand/v2"`, "_ = rand.Float64"},
		{`. "time"`, ""}, {`"fmt"`, `fmt.Println("x")`}, {`"time"`, "go func() {}()"},
	} {
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, "x.go", "package x\nimport "+c.imports+"\nfunc f() { "+c.body+" }", parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		if len(impurities(&source{file: file, set: set})) == 0 {
			t.Errorf("import %s, %s would pass", c.imports, c.body)
		}
	}
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, "x.go", `package x
import ("time"; "math/rand/v2")
var r = rand.New(rand.NewPCG(1, 2))
func f(d time.Duration) time.Duration { return d + time.Duration(r.IntN(3)) }`, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	if found := impurities(&source{file: file, set: set}); len(found) > 0 {
		t.Errorf("what is pure was refused: %v", found)
	}
}

// No sum hangs on fused multiply-add: the compiler is asked for the code of a platform that fuses x*y + z on its own
// wherever the source lets it (the language allows that, but not across an explicit conversion).
func TestNothingIsFused(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles for another platform")
	}
	for _, pkg := range []string{".", "./aircraft", "./aircraft/datasheet", "./condition", "./scenario", "./score"} {
		build := exec.Command("go", "build", "-gcflags=-S", pkg)
		build.Env = append(os.Environ(), "GOOS=linux", "GOARCH=arm64", "CGO_ENABLED=0")
		code, err := build.CombinedOutput()
		if err != nil {
			t.Fatalf("%s: %v", pkg, err)
		}
		if !bytes.Contains(code, []byte("TEXT")) {
			t.Fatalf("%s: no code to look at", pkg)
		}
		for line := range bytes.Lines(code) {
			if fused.Match(line) {
				t.Errorf("%s: fused: %s", pkg, bytes.TrimSpace(line))
			}
		}
	}
}

// fused is the instructions of arm64 that multiply and add in one.
var fused = regexp.MustCompile(`\tFN?M(ADD|SUB)[SD]\t`)

// above is the packages in the folder of drill that stand above it: what tries sittings out, and what tests share.
var above = []string{"bench", "bench/advice", "drilltest"}

// Imports point downwards only. What tests share stands above drill, and nothing but tests imports it.
func TestImportsPointDownwards(t *testing.T) {
	const drillPath = "hornlark/drill"
	for _, s := range sourcesBelow(t, ".") {
		for _, p := range s.imports() {
			switch {
			case strings.HasPrefix(p, "hornlark/") && p != drillPath && !strings.HasPrefix(p, drillPath+"/"):
				t.Errorf("%s: nothing in drill imports %s", s.name, p)
			case p == drillPath+"/drilltest":
				t.Errorf("%s: drilltest is for tests", s.name)
			case p == drillPath && !slices.Contains(above, s.pkg):
				t.Errorf("%s: %s stands below drill and must not import it", s.name, s.pkg)
			case s.pkg == "" && (slices.Contains(impure, strings.TrimPrefix(p, drillPath+"/")) || p == drillPath+"/bench"):
				t.Errorf("%s: the sitting must not import %s", s.name, p)
			case s.pkg == "bench" && slices.Contains(impure, strings.TrimPrefix(p, drillPath+"/")):
				t.Errorf("%s: what tries a sitting out must not import %s", s.name, p)
			}
		}
	}
	for _, s := range sourcesBelow(t, "../audio") {
		for _, p := range s.imports() {
			if p == drillPath || strings.HasPrefix(p, drillPath+"/") {
				t.Errorf("%s: nothing in audio imports %s", s.name, p)
			}
		}
	}
}
