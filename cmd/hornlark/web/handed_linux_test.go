package web_test

import (
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"testing"

	"hornlark/cmd/hornlark/web"
)

// enterBy has a program of its own enter by a code, as some user, and gives what it was answered.
func enterBy(t *testing.T, d *web.Door, code string, user *syscall.Credential) string {
	t.Helper()
	curl, err := exec.LookPath("curl")
	if err != nil {
		t.Skip("there is no curl to come in by")
	}
	at := strings.TrimSuffix(d.Addresses()[0], "/")
	cmd := exec.Command(curl, "--silent", "--noproxy", "*", "--output", "-", "--write-out", " %{http_code}", "-H", "Origin: "+at, "-H", "Content-Type: application/json",
		"--data", fmt.Sprintf(`{"code":%q}`, code), at+"/enter")
	cmd.Dir = "/"
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: user}
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return string(out)
}

// What a browser is handed can be read by everybody on the machine, and lets in nobody but programs of the same user, once; the printed code
// is void then, too.
func TestTheHandedCodeIsForOneUser(t *testing.T) {
	d := opened(t, web.DoorOptions{Linked: true})
	_, code, is := strings.Cut(d.Handed(), "#")
	if !is {
		t.Fatal("nothing is handed over")
	}
	_, printed, _ := strings.Cut(d.Links()[0], "#")
	if os.Getuid() == 0 {
		if got := enterBy(t, d, code, &syscall.Credential{Uid: 65534, Gid: 65534}); !strings.HasSuffix(got, fmt.Sprint(" ", http.StatusForbidden)) || !strings.Contains(got, "whoever started this") {
			t.Errorf("somebody else is answered %s", got)
		}
	}
	if got := enterBy(t, d, code, nil); !strings.HasSuffix(got, fmt.Sprint(" ", http.StatusOK)) {
		t.Errorf("whoever started it is answered %s", got)
	}
	for _, used := range []string{code, printed} {
		if got := enterBy(t, d, used, nil); !strings.HasSuffix(got, fmt.Sprint(" ", http.StatusForbidden)) {
			t.Errorf("after that %s is answered %s", used, got)
		}
	}
}
