package paper

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"html/template"
	"io"
	"io/fs"
	"net/http"
	"strings"
	"sync"
	"time"
)

//go:embed page
var files embed.FS

// Pages are the templates by name.
type Pages map[string]*template.Template

// parsed are the pages by the name of their zone: a desk that is opened again, with
// another configuration, has the same.
var parsed sync.Map

// Parse returns all templates, each the frame with its own parts. Times are said
// in a zone.
func Parse(zone *time.Location) (Pages, error) {
	if pages, ok := parsed.Load(zone.String()); ok {
		return pages.(Pages), nil
	}
	pages, err := parse(zone)
	if err == nil {
		parsed.Store(zone.String(), pages)
	}
	return pages, err
}

func parse(zone *time.Location) (Pages, error) {
	frame, err := template.New("frame").Funcs(words(zone)).ParseFS(files, "page/frame.html", "page/parts.html")
	if err != nil {
		return nil, err
	}
	names, err := fs.Glob(files, "page/*.html")
	if err != nil {
		return nil, err
	}
	pages := Pages{}
	for _, name := range names {
		key := strings.TrimSuffix(strings.TrimPrefix(name, "page/"), ".html")
		if key == "frame" || key == "parts" {
			continue
		}
		t, err := frame.Clone()
		if err == nil {
			t, err = t.ParseFS(files, name)
		}
		if err != nil {
			return nil, err
		}
		pages[key] = t
	}
	return pages, nil
}

// Write writes the page of a name.
func (p Pages) Write(w io.Writer, name string, page any) error {
	return p[name].ExecuteTemplate(w, "frame", page)
}

// Asset is a file that pages load, by the digest of what it holds: a browser
// keeps it until it changes.
type Asset struct {
	data []byte
	kind string
	Path string
}

func newAsset(name, kind string) Asset {
	data, err := files.ReadFile("page/" + name)
	if err != nil {
		data = nil // a test finds an asset that is not there
	}
	sum := sha256.Sum256(data)
	return Asset{data, kind, "/desk/asset/" + hex.EncodeToString(sum[:6]) + "-" + name}
}

// The constant files of the desk.
var (
	Style = newAsset("desk.css", "text/css; charset=utf-8")
	Icon  = newAsset("icon.svg", "image/svg+xml")
)

// ServeHTTP implements http.Handler.
func (a Asset) ServeHTTP(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	w.Header().Set("Content-Type", a.kind)
	_, _ = w.Write(a.data)
}
