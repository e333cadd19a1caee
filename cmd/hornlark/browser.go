package main

import (
	"context"
	"fmt"
	"html"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"time"

	"hornlark/audio/whole"
	"hornlark/cmd/hornlark/web"
)

// desktop reports whether there is one here on which a browser could be opened, in front of whoever has started the program. getenv is os.Getenv.
func desktop(system string, getenv func(string) string) bool {
	for _, name := range []string{"SSH_CONNECTION", "SSH_CLIENT", "SSH_TTY"} {
		if getenv(name) != "" { // then whoever looks sits elsewhere
			return false
		}
	}
	return system == "windows" || system == "darwin" || getenv("DISPLAY") != "" || getenv("WAYLAND_DISPLAY") != ""
}

// opener is what opens an address or a page of the disk in the browser of whoever sits here.
func opener(system string) (*exec.Cmd, error) {
	try := [][]string{{"xdg-open"}, {"gio", "open"}, {"x-www-browser"}}
	switch system {
	case "windows":
		try = [][]string{{"rundll32", "url.dll,FileProtocolHandler"}}
	case "darwin":
		try = [][]string{{"open"}}
	}
	for _, words := range try {
		if path, err := exec.LookPath(words[0]); err == nil {
			return exec.Command(path, words[1:]...), nil
		}
	}
	return nil, fmt.Errorf("there is no %s", try[0][0])
}

// browserWithin is how long a page that was handed to a browser may take to be there, before what it was handed by is taken away.
const browserWithin = time.Minute

// browse opens the page of a site in a browser, and tells in a line if that cannot be done.
//
// Everybody on a machine can read what programs are started with, so what is handed over must be of no use to others: an address that lets in
// only programs of the same user; where the system does not say whose a connection is, a page on the disk that only this user can read, and
// that leads on.
func browse(ctx context.Context, site *web.Site, tell func(line string)) {
	if !desktop(runtime.GOOS, os.Getenv) {
		tell("There is no desktop here on which a browser could be opened: open the address yourself.")
		return
	}
	to, remove := site.Door().Handed(), func() {}
	open, err := opener(runtime.GOOS)
	if err == nil && to == "" {
		to, remove, err = leadingOn(site.Link())
	}
	if err == nil {
		open.Args = append(open.Args, to)
		apart(open)
		err = open.Start()
	}
	if err != nil {
		remove()
		tell(fmt.Sprintf("No browser could be opened (%v): open the address yourself.", err))
		return
	}
	go func() {
		defer remove()
		if err := open.Wait(); err != nil && site.Alone() > 0 && ctx.Err() == nil {
			tell(fmt.Sprintf("No browser could be opened (%s: %v): open the address yourself.", filepath.Base(open.Path), err))
			return
		}
		select {
		case <-site.Door().Came():
		case <-ctx.Done():
		case <-time.After(browserWithin):
		}
	}()
}

// leadingOn is a page on the disk, readable by this user alone, that leads on to an address, and what takes it away.
func leadingOn(to string) (path string, remove func(), err error) {
	folder, err := os.MkdirTemp("", "hornlark-page-")
	if err != nil {
		return "", func() {}, err
	}
	remove = func() { os.RemoveAll(folder) }
	path = filepath.Join(folder, "hornlark.html")
	to = html.EscapeString(to)
	page := fmt.Sprintf("<!doctype html>\n<html lang=\"en\">\n<meta charset=\"utf-8\">\n<meta http-equiv=\"refresh\" content=\"0;url=%s\">\n<title>Hornlark</title>\n<p><a href=\"%s\">Hornlark</a></p>\n", to, to)
	if err := whole.Write(path, []byte(page), 0o600); err != nil {
		remove()
		return "", func() {}, err
	}
	return path, remove, nil
}

// tellBeside tells something to somebody who has neither a terminal nor a page: by whatever program shows a text here. What is told may have
// an address in it, and so it is not handed over in what the program is started with, unless that is the only way: then without.
func tellBeside(text, withoutAddress string) {
	type way struct {
		words []string
		read  bool // what it shows is read from its input
	}
	ways := []way{
		{[]string{"zenity", "--text-info", "--title=Hornlark"}, true}, {[]string{"xmessage", "-file", "-"}, true}, {[]string{"notify-send", "Hornlark", withoutAddress}, false},
	}
	switch runtime.GOOS {
	case "darwin":
		ways = []way{{[]string{"osascript", "-e", "on run told", "-e", `display alert "Hornlark" message (item 1 of told)`, "-e", "end run", withoutAddress}, false}}
	case "windows":
		return // there is always a window with a terminal in it
	}
	for _, w := range ways {
		path, err := exec.LookPath(w.words[0])
		if err != nil {
			continue
		}
		show := exec.Command(path, w.words[1:]...)
		apart(show)
		in, err := show.StdinPipe()
		if err == nil && show.Start() == nil {
			if w.read {
				io.WriteString(in, text)
			}
			in.Close()
			go show.Wait()
			return
		}
	}
}
