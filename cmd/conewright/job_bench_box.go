package main

import (
	"context"
	"fmt"
	"strings"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/specsheet"
)

// pageAddition is what is added to a stage.
type pageAddition struct {
	book.Addition
	bench *benchOptions
	files []loadFile // that are new
}

// inCabinet computes a stage in the cabinet; the driver in free air is in the book.
func (a pageAddition) inCabinet(ctx context.Context, b *book.Book, box boxOptions, sheet *specOption) (*book.Cabinet, error) {
	job, err := b.Job(ctx, a.Ref.Job)
	if err != nil {
		return nil, err
	}
	d, _ := job.Driver(a.Ref.Side)
	d.Side = a.Ref.Side
	stage, _ := d.Stage(a.Ref.Stage)
	stage.Name = a.Ref.Stage
	in, err := inCabinetOf(b, a.Ref.Job, d, stage, a.bench, box, a.files)
	if err != nil {
		return nil, err
	}
	limits, err := sheet.of(specsheet.Box)
	if err != nil {
		return nil, err
	}
	found, err := lookInCabinet(b, d, in, limits, sheet.input)
	if err != nil {
		return nil, err
	}
	return found.kept()
}

// renewPageBoxes computes the stages in the cabinet anew that are not as they would be now, and says what came out differently: added
// says that sweeps were added, on which they may rest, and chosen that there is a sheet now. What the page knows of the box is that of
// its own stages.
func renewPageBoxes(ctx context.Context, b *book.Book, ref book.Ref, box boxOptions, added, chosen bool) (says []string, err error) {
	own, err := renewInCabinet(ctx, b, ref.Job, ref.Side, noBench(), box, func(_ book.Driver, s book.Stage) bool {
		return isOfPage(s.Name) && (added || chosen || box.otherThan(s.Cabinet))
	})
	if err != nil {
		return nil, err
	}
	others, err := renewInCabinet(ctx, b, ref.Job, ref.Side, noBench(), boxOptions{}.empty(), func(_ book.Driver, s book.Stage) bool {
		return !isOfPage(s.Name) && (added || chosen)
	})
	if err != nil {
		return nil, err
	}
	for _, s := range append(own.stages, others.stages...) {
		rows, err := boxDifferences(ref, s.was, s.is)
		switch j := s.judged(); {
		case err != nil:
			return nil, err
		case j.Was != j.Is:
			says = append(says, stageIs(j, chosen))
		case s.was == nil || len(rows) > 0 || s.is.Volume != s.was.Volume || s.is.Tuning != s.was.Tuning:
			says = append(says, strings.ReplaceAll(s.name, "-", " ")+" is computed anew")
		}
	}
	return append(says, append(own.notes(), others.notes()...)...), nil
}

// stageIs says what the verdict on a stage is now; chosen: by a sheet that it did not have before.
func stageIs(j book.Judged, chosen bool) string {
	by := "now"
	if chosen {
		by = "by its new sheet"
	}
	return fmt.Sprintf("%s is %s %s", strings.ReplaceAll(j.Stage, "-", " "), verdictWords(j.Is), by)
}
