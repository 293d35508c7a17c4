package main

import (
	"context"
	"fmt"
	"path/filepath"

	"conewright/cmd/internal/book"
)

// demoBook puts the repair of the demo into a book, as a technician would have over some
// days, and says how to look at it.
func demoBook(c *console, files, folder string) error {
	o := bookOption{folder}
	number := 0
	err := o.with(true, func(ctx context.Context, b *book.Book) (err error) {
		number, err = b.NewJob(ctx, book.Job{Title: "Stage woofers", Customer: "Brindle Hall",
			Work: "Foam surrounds replaced by new ones, coils centred, glue dried for two days.", Opened: now()})
		return err
	})
	if err != nil {
		return err
	}
	fmt.Fprint(c.out, "\nThe same repair as a job of the book:\n\n")
	in := func(name string) string { return filepath.Join(files, name) }
	for _, side := range []string{"left", "right"} {
		for _, s := range []struct{ stage, file string }{{book.AsReceived, "before"}, {book.NewSurround, "after"}} {
			name := side + "-" + s.file
			args := []string{fmt.Sprintf("job:%d/%s/%s", number, side, s.stage), in(name + ".wav"), "--mass", "20.0g=" + in(name+"-20g.wav"),
				"--bench", in("bench.toml"), "--type", "Larch 25", "--serial", "0417-" + side, "--spec", in("larch.toml"), "--book", folder}
			if _, err := jobAddCommand.run(c, args); err != nil {
				return err
			}
		}
	}
	for _, s := range []struct{ stage, file string }{{book.InCabinet + "-old-gasket", "left-box-old-gasket.wav"}, {book.InCabinet, "left-box.wav"}} {
		args := []string{fmt.Sprintf("job:%d/left/%s", number, s.stage), in(s.file), "--volume", "60L", "--tuning", "34Hz", "--bench", in("bench.toml"), "--book", folder}
		if _, err := jobAddCommand.run(c, args); err != nil {
			return err
		}
	}
	drawer := in("drawer")
	if err := recordParts(drawer); err != nil {
		return err
	}
	inDrawer := func(name string) string { return filepath.Join(drawer, name) }
	args := []string{fmt.Sprintf("job:%d/left/%s", number, book.Parts), inDrawer("c1-old.wav"), inDrawer("c1-new.wav"), "--nominal", "6.8uF", "--tolerance", "5%",
		"--open", inDrawer("open.wav"), "--short", inDrawer("short.wav"), "--load", "100.0ohm=" + inDrawer("load.wav"), "--book", folder}
	if _, err := jobAddCommand.run(c, args); err != nil {
		return err
	}
	fmt.Fprintf(c.out, "\nconewright job show job:%d --book %s shows it, conewright job sheet job:%d --pdf sheet.pdf --book %s writes the customer's sheet.\n", number, folder, number, folder)
	return nil
}
