package main

import (
	"cmp"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"conewright/cmd/internal/benchjob"
	"conewright/cmd/internal/benchpage"
	"conewright/cmd/internal/book"
	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/specsheet"
	"conewright/ts/notice"
)

// Sheets are the TOML files in the folder and in those of its jobs that are spec sheets, and those that the
// book keeps and that are none of these.
func (w *workshop) Sheets() []benchpage.Sheet {
	paths, _ := filepath.Glob(filepath.Join(w.folder, "*.toml"))
	ofJobs, _ := filepath.Glob(filepath.Join(w.folder, "*", "*.toml"))
	var list []benchpage.Sheet
	here := map[string]bool{} // by their content
	for _, path := range append(paths, ofJobs...) {
		if sheet, content, err := specsheet.Read(path); err == nil {
			here[string(content)] = true
			name, _ := filepath.Rel(w.folder, path)
			if sheet.Name != "" {
				name = sheet.Name + " (" + name + ")"
			}
			list = append(list, benchpage.Sheet{Path: path, Name: name})
		}
	}
	for _, s := range w.bookSheets() {
		if !here[s.content] {
			list = append(list, s.Sheet)
		}
	}
	return list
}

// bookSheet is a sheet that the book keeps.
type bookSheet struct {
	benchpage.Sheet
	file, content string // name when it was added
}

// bookSheets are those of the drivers in the book. A book that cannot be used says so when something is to
// be kept in it.
func (w *workshop) bookSheets() []bookSheet {
	o := w.bookNow()
	var list []bookSheet
	_ = o.with(false, func(ctx context.Context, b *book.Book) error {
		kept, err := b.AllSheets(ctx)
		for _, s := range kept {
			path := b.RawPath(s.SHA256)
			if sheet, content, err := specsheet.Read(path); err == nil {
				name := fmt.Sprintf("%s (%s in the book)", cmp.Or(sheet.Name, "a sheet"), s.Name)
				list = append(list, bookSheet{benchpage.Sheet{Path: path, Name: name}, s.Name, string(content)})
			}
		}
		return err
	})
	return list
}

// OwnSheet copies a sheet of the book into the folder of a driver, so that the driver keeps it whatever
// becomes of the job in the book; others stay where they are.
func (w *workshop) OwnSheet(dir, path string) (string, error) {
	for _, s := range w.bookSheets() {
		if s.Path != path {
			continue
		}
		if err := os.MkdirAll(dir, 0o777); err != nil {
			return "", err
		}
		name := benchjob.Folder(strings.TrimSuffix(s.file, filepath.Ext(s.file)))
		return newFile(dir, cmp.Or(name, "sheet"), ".toml", s.content)
	}
	return path, nil
}

// Paper are the options of conewright spec new.
func (w *workshop) Paper() []benchpage.PaperValue {
	list := []benchpage.PaperValue{{Name: "name", Title: "Type, as printed"}}
	for _, v := range paperValues {
		title := v.id.String()
		if v.option == "le" {
			title = "Le" // as it is printed
		}
		usual := fmt.Sprintf("%.0f %%", 100*v.tolerance)
		if unit := quantity.Screen(v.id).Name; unit != "" {
			usual = unit + ", " + usual
		}
		list = append(list, benchpage.PaperValue{Name: v.option, Title: title, Usual: usual})
	}
	return append(list, benchpage.PaperValue{Name: "nominal", Title: "Nominal impedance", Usual: "ohm; for Re where that is not printed"})
}

// paperPrefix is before the names of fields for values of a data sheet.
const paperPrefix = "paper-"

// NewSheet writes what conewright spec new writes. A sheet that is there stays as it is; where it
// is the same, there is no need for another.
func (w *workshop) NewSheet(dir string, typed map[string]string) (string, error) {
	groups := newOptionGroups("spec new")
	var paper paperOptions
	paper.define(groups.group("Values"))
	if err := fill(groups.all(), paperPrefix, typed); err != nil {
		return "", err
	}
	s := paper.sheet()
	if len(s.limits) == 0 {
		return "", &benchpage.FieldError{Field: "sheet", Err: notice.New("job-no-paper", nil)}
	}
	sheet, err := s.text()
	if err != nil {
		return "", err
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return "", err
	}
	return newFile(dir, "paper-values", ".toml", sheet)
}
