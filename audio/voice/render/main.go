// Command render makes the clips of the phrases on standard input: a line each, the voice, a tab, the text.
package main

import (
	"bufio"
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"

	"hornlark/audio/voice"
)

func main() {
	dir := flag.String("dir", "sounds", "folder with the lexicon, the manifest and the clips")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, os.Stdin, *dir); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run(ctx context.Context, in io.Reader, dir string) error {
	phrases, err := read(in)
	if err != nil {
		return err
	}
	err = voice.RenderAll(ctx, phrases, dir, func(done, total int) {
		fmt.Fprintf(os.Stderr, "\rclip %d of %d", done, total)
	})
	fmt.Fprintln(os.Stderr)
	return err
}

func read(in io.Reader) ([]voice.Phrase, error) {
	var phrases []voice.Phrase
	lines := bufio.NewScanner(in)
	for n := 1; lines.Scan(); n++ {
		if strings.TrimSpace(lines.Text()) == "" {
			continue
		}
		who, text, ok := strings.Cut(lines.Text(), "\t")
		if !ok || who == "" || text == "" {
			return nil, fmt.Errorf("standard input, line %d: %q is not a voice, a tab and a text", n, lines.Text())
		}
		phrases = append(phrases, voice.Phrase{Voice: who, Text: text})
	}
	if err := lines.Err(); err != nil {
		return nil, fmt.Errorf("standard input: %w", err)
	}
	if len(phrases) == 0 {
		return nil, fmt.Errorf("standard input: there are no phrases; nothing was changed")
	}
	return phrases, nil
}
