// Package page holds the sliders as a part of a page: the drawings at rest, the
// program of package playground as WebAssembly, and the script between the two.
package page

import (
	"bytes"
	"embed"
	"encoding/base64"
	"encoding/json"
	"html/template"
	"math"

	"conewright/cmd/internal/playground"
)

// The module is the program in folder ../wasm, built and packed by the program in
// folder build; engine.js is the loader that belongs to the Go release of the
// build. docs/decisions/0050-built-module.md says why they are in the tree.
//
//go:generate go run ../build
//go:embed play.html play.css play.js engine.js
var files embed.FS

//go:embed play.wasm.gz
var module []byte

var fragment = template.Must(template.ParseFS(files, "play.html"))

// slider is one input of the page. Min, Max and Step are in the unit shown,
// PerUnit turns it into the value of Sliders.
type slider struct {
	ID, Label, Unit string
	Min, Max, Step  float64
	PerUnit         float64
}

// restWidth is how wide the drawings are made that stand in the page before the
// script draws others, or instead of it: as wide as a column on a desk and about
// as wide as a phone, so that their letters keep their size on both.
const restWidth = 350

// Fragment returns the part of a page that carries the sliders, the drawings and
// the program, ready to be placed once in the body of a self-contained page that
// also carries the style sheet of package plot. Without a script, and on paper,
// the drawings show the driver as it is.
func Fragment(b playground.Base) (template.HTML, error) {
	v, err := b.View(playground.Sliders{}, restWidth)
	if err != nil {
		return "", err
	}
	base, err := json.Marshal(b)
	if err != nil {
		return "", err
	}
	data := struct {
		Sliders     []slider
		View        playground.View
		Curve, Line template.HTML
		Base        template.JS
		Style       template.CSS
		Engine      template.JS
		Script      template.JS
		Module      template.HTML
	}{
		Sliders: []slider{
			{"ring", "ring on the former", "g", 0, math.Round(1e3 * b.MaxRing()), 0.5, 1e-3},
			{"compliance", "compliance of the suspension", "%", -50, 100, 1, 1e-2},
			{"motor", "strength of the motor", "%", -30, 30, 1, 1e-2},
			{"losses", "mechanical losses", "%", -50, 200, 1, 1e-2},
		},
		View: v, Curve: template.HTML(v.Curve), Line: template.HTML(v.Line),
		Base: template.JS(base), Module: template.HTML(base64.StdEncoding.EncodeToString(module)),
	}
	for name, dst := range map[string]*template.JS{"engine.js": &data.Engine, "play.js": &data.Script} {
		text, err := files.ReadFile(name)
		if err != nil {
			return "", err
		}
		*dst = template.JS(text)
	}
	style, err := files.ReadFile("play.css")
	if err != nil {
		return "", err
	}
	data.Style = template.CSS(style)
	var buf bytes.Buffer
	if err := fragment.Execute(&buf, data); err != nil {
		return "", err
	}
	return template.HTML(buf.String()), nil
}
