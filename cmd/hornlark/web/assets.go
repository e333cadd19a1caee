package web

import (
	"embed"
	"io/fs"
)

//go:embed assets
var embedded embed.FS

// assets are the files of all pages. Nothing in them is of a sitting.
var assets = func() fs.FS {
	inside, err := fs.Sub(embedded, "assets")
	if err != nil {
		panic(err) // the name is that of the line above
	}
	return inside
}()
