//go:build js && wasm

// The module that the page runs. It offers one function to the page,
// conewrightView(base, sliders, width), JSON texts in and out.
package main

import (
	"encoding/json"
	"syscall/js"

	"conewright/cmd/internal/playground"
)

func main() {
	js.Global().Set("conewrightView", js.FuncOf(func(_ js.Value, args []js.Value) any {
		out, err := view(args[0].String(), args[1].String(), args[2].Float())
		if err != nil {
			out, _ = json.Marshal(map[string]string{"error": err.Error()})
		}
		return string(out)
	}))
	js.Global().Call("conewrightReady")
	select {}
}

func view(base, sliders string, width float64) ([]byte, error) {
	var b playground.Base
	if err := json.Unmarshal([]byte(base), &b); err != nil {
		return nil, err
	}
	var s playground.Sliders
	if err := json.Unmarshal([]byte(sliders), &s); err != nil {
		return nil, err
	}
	v, err := b.View(s, width)
	if err != nil {
		return nil, err
	}
	return json.Marshal(v)
}
