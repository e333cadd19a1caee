package ownhome

import (
	"go/ast"
	"go/build/constraint"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/adrg/xdg"
)

// unwelcome is what somebody's machine may have settled, and no test may go by.
var unwelcome = map[string]string{
	"HOME": "/nowhere/home", "XDG_CONFIG_HOME": "/nowhere/config", "XDG_DATA_HOME": "/nowhere/data", "XDG_CACHE_HOME": "/nowhere/cache",
	"XDG_RUNTIME_DIR": "/nowhere/run", "LANG": "tr_TR.UTF-8", "LC_ALL": "tr_TR.UTF-8", "LC_NUMERIC": "ar_EG.UTF-8", "LANGUAGE": "ar",
	"NO_COLOR": "1", "CLICOLOR_FORCE": "1", "COLORTERM": "truecolor", "TERM": "dumb", "COLUMNS": "11", "TZ": "Asia/Kathmandu",
	"HORNLARK_DATA": "/nowhere/records", "ALSA_CONFIG_PATH": "/nowhere/alsa.conf", "ALSA_CARD": "7", "PULSE_SERVER": "tcp:192.0.2.1",
	"PULSE_SINK": "none", "PULSE_LATENCY_MSEC": "5000", "DBUS_SYSTEM_BUS_ADDRESS": "unix:path=/nowhere/bus", "DBUS_SESSION_BUS_ADDRESS": "unix:path=/nowhere/bus",
}

const inChild = "GO_OWNHOME_CHILD"

func TestMain(m *testing.M) {
	if os.Getenv(inChild) != "" {
		os.Exit(run(func() int {
			os.Stdout.WriteString(strings.Join(append(os.Environ(), "home="+xdg.Home, "data="+xdg.DataHome, "zone="+time.Now().Location().String()), "\n"))
			return 0
		}))
	}
	Main(m)
}

// What whoever runs the tests has settled does not reach them, what the machine needs does, and nothing is left behind.
func TestNothingOfTheUsersIsSeen(t *testing.T) {
	above := t.TempDir()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), inChild+"=1", "HORNLARK_WHOLE=yes", "TMPDIR="+above, "TMP="+above, "TEMP="+above)
	for name, value := range unwelcome {
		cmd.Env = append(cmd.Env, name+"="+value)
	}
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	seen := map[string]string{}
	for line := range strings.Lines(string(out)) {
		name, value, _ := strings.Cut(strings.TrimSpace(line), "=")
		seen[name] = value
	}
	for name, value := range unwelcome {
		if seen[name] == value {
			t.Errorf("%s is seen as the user has it: %s", name, value)
		}
	}
	for _, name := range []string{"HOME", "TMPDIR", "ALSA_CONFIG_PATH", "home", "data"} {
		if !strings.HasPrefix(seen[name], above) {
			t.Errorf("%s is %q, and not below %s", name, seen[name], above)
		}
	}
	if seen["PATH"] != os.Getenv("PATH") || seen["HORNLARK_WHOLE"] != "yes" || seen["zone"] != "UTC" {
		t.Errorf("PATH is %q, HORNLARK_WHOLE %q, the zone %q", seen["PATH"], seen["HORNLARK_WHOLE"], seen["zone"])
	}
	if left, err := os.ReadDir(above); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// Every package with tests gives them a home of their own, on every platform.
func TestEveryPackageHasIt(t *testing.T) {
	tested, has := map[string]bool{}, map[string]bool{}
	err := filepath.WalkDir(filepath.Join("..", ".."), func(name string, entry fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(name, "_test.go") {
			if err == nil && entry.IsDir() && slices.Contains([]string{"dist", "testdata", ".git"}, entry.Name()) {
				return filepath.SkipDir
			}
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ParseComments|parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		folder := filepath.Dir(name)
		tested[folder] = true
		has[folder] = has[folder] || everywhere(file) && callsMain(file)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(tested) < 20 {
		t.Fatalf("only %d packages with tests were found", len(tested))
	}
	for folder := range tested {
		if own, _ := filepath.Abs(folder); filepath.Base(own) != "ownhome" && !has[folder] {
			t.Errorf("%s: no TestMain that calls ownhome.Main on every platform", folder)
		}
	}
}

// everywhere tells whether a file is built on every platform.
func everywhere(file *ast.File) bool {
	for _, group := range file.Comments {
		for _, line := range group.List {
			if group.Pos() < file.Package && constraint.IsGoBuild(line.Text) {
				return false
			}
		}
	}
	return true
}

func callsMain(file *ast.File) (found bool) {
	for _, d := range file.Decls {
		f, ok := d.(*ast.FuncDecl)
		if !ok || f.Name.Name != "TestMain" || f.Recv != nil {
			continue
		}
		ast.Inspect(f, func(n ast.Node) bool {
			if call, ok := n.(*ast.SelectorExpr); ok && call.Sel.Name == "Main" {
				if x, ok := call.X.(*ast.Ident); ok && x.Name == "ownhome" {
					found = true
				}
			}
			return true
		})
	}
	return found
}
