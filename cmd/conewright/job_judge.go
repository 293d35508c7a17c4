package main

import (
	"cmp"
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/saved"
	"conewright/ts"
	"conewright/ts/verdict"
)

// judgeBy judges what the book keeps by a sheet.
func judgeBy(spec *verdict.Spec) book.Judge {
	return func(of book.Ref, fit json.RawMessage) (string, error) {
		if spec == nil { // it has no limits for a driver
			return "", nil
		}
		kept, err := saved.Read(fit, of.String())
		if err != nil {
			return "", wrongUse(fmt.Sprintf("conewright job recompute %s computes it anew; then name the sheet once more", of), "what the book keeps of %s cannot be read: %v", of, err)
		}
		checked, err := ts.Check(kept.Parameters, *spec)
		if err != nil {
			return "", err
		}
		return checked.Verdict.String(), nil
	}
}

// sayJudged says what stages are by the sheet that was named.
func sayJudged(c *console, ref book.Ref, sheet string, judged []book.Judged) error {
	for _, j := range judged {
		if _, err := fmt.Fprintf(c.out, "%s by %s: %s\n", book.Ref{Job: ref.Job, Side: ref.Side, Stage: j.Stage}, filepath.Base(sheet), judgedWords(j)); err != nil {
			return err
		}
	}
	return nil
}

// judgedWords say what a stage is, and what it was if that is something else.
func judgedWords(j book.Judged) string {
	words := cmp.Or(verdictWords(j.Is), "no limits")
	if j.Was != "" && j.Was != j.Is {
		words += ", was " + verdictWords(j.Was)
	}
	return words
}

// verdictWords writes a verdict that the book keeps.
func verdictWords(kept string) string { return strings.ReplaceAll(kept, "-", " ") }
