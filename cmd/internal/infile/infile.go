// Package infile opens what a command reads, and makes sure that what is worked on is
// what its hash says.
package infile

import (
	"crypto/sha256"
	"encoding/hex"
	"hash/crc32"
	"io"
	"os"
	"sync"
	"syscall"

	"conewright/ts/notice"
)

// block is how many bytes are checked at a time.
const block = 1 << 13

// checksum is that of one block: CRC-32 with Castagnoli's polynomial, which processors
// compute by themselves.
var checksum = crc32.MakeTable(crc32.Castagnoli)

// File is an open file. When it is opened it is read once from end to end, for its hash;
// every later read is held against what was read then, block by block. Whoever changes the
// file meanwhile is found out, but for one changed block in four billion, and the reading
// fails: no result is made of other bytes than those of the hash.
type File struct {
	path string
	size int64
	hash string
	sums []uint32 // of each block
	file *os.File
	pool sync.Pool // of *[]byte
}

// regular opens a regular file. It looks before it opens, because opening a device may move
// something, and opens without waiting, because a pipe may take the place of the file.
func regular(path string) (*os.File, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, notice.New("file-open", nil).In(path).Because(err)
	}
	if !info.Mode().IsRegular() {
		return nil, notice.New("file-not", nil).In(path)
	}
	file, err := os.OpenFile(path, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return nil, notice.New("file-open", nil).In(path).Because(err)
	}
	if info, err := file.Stat(); err != nil || !info.Mode().IsRegular() {
		file.Close()
		return nil, notice.New("file-not", nil).In(path)
	}
	return file, nil
}

// Small reads a regular file of at most so many bytes as a whole.
func Small(path string, most int64) ([]byte, error) {
	file, err := regular(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	data, err := io.ReadAll(io.LimitReader(file, most+1))
	if err != nil {
		return nil, notice.New("file-open", nil).In(path).Because(err)
	}
	if int64(len(data)) > most {
		return nil, large(path, most)
	}
	return data, nil
}

// Start reads the first bytes of a regular file, or as many as there are.
func Start(path string, n int64) ([]byte, error) {
	file, err := regular(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	data, err := io.ReadAll(io.LimitReader(file, n))
	if err != nil {
		return nil, notice.New("file-open", nil).In(path).Because(err)
	}
	return data, nil
}

func large(path string, most int64) error {
	return notice.New("file-large", notice.Facts{"most": float64(most)}).In(path)
}

// Open opens a regular file for reading.
func Open(path string) (*File, error) {
	file, err := regular(path)
	if err != nil {
		return nil, err
	}
	f := &File{path: path, file: file}
	if err := f.look(); err != nil {
		file.Close()
		return nil, notice.New("file-open", nil).In(path).Because(err)
	}
	return f, nil
}

// look reads the file from end to end.
func (f *File) look() error {
	const most = 32 // blocks at a time
	info, err := f.file.Stat()
	if err != nil {
		return err
	}
	hash := sha256.New()
	buf := make([]byte, block*min(most, info.Size()/block+1)) // for a small file, one to its end
	for {
		n, err := io.ReadFull(f.file, buf)
		for at := 0; at < n; at += block {
			f.sums = append(f.sums, crc32.Checksum(buf[at:min(at+block, n)], checksum))
		}
		hash.Write(buf[:n])
		f.size += int64(n)
		if err == io.EOF || err == io.ErrUnexpectedEOF {
			break
		}
		if err != nil {
			return err
		}
	}
	f.hash = hex.EncodeToString(hash.Sum(nil))
	return nil
}

// Path returns the name under which the file was opened.
func (f *File) Path() string { return f.path }

// Size returns the size in bytes.
func (f *File) Size() int64 { return f.size }

// SHA256 returns the hash of the content in hexadecimal.
func (f *File) SHA256() string { return f.hash }

// Close closes the file.
func (f *File) Close() error { return f.file.Close() }

// ReadAt implements io.ReaderAt. It may be called from several goroutines.
func (f *File) ReadAt(p []byte, off int64) (int, error) {
	if off < 0 || off >= f.size {
		return 0, io.EOF
	}
	n := int(min(int64(len(p)), f.size-off))
	first := off / block
	from, to := first*block, min((off+int64(n)+block-1)/block*block, f.size)
	buf, _ := f.pool.Get().(*[]byte)
	if buf == nil || cap(*buf) < int(to-from) {
		b := make([]byte, to-from)
		buf = &b
	}
	defer f.pool.Put(buf)
	whole := (*buf)[:to-from]
	if got, err := f.file.ReadAt(whole, from); got < len(whole) {
		if err == io.EOF {
			return 0, f.changed()
		}
		return 0, err
	}
	for i := range (len(whole) + block - 1) / block {
		if crc32.Checksum(whole[i*block:min((i+1)*block, len(whole))], checksum) != f.sums[first+int64(i)] {
			return 0, f.changed()
		}
	}
	copy(p[:n], whole[off-from:])
	if n < len(p) {
		return n, io.EOF
	}
	return n, nil
}

func (f *File) changed() error { return notice.New("file-changed", nil).In(f.path) }

// Bytes returns the content of a file that has at most so many bytes.
func (f *File) Bytes(most int64) ([]byte, error) {
	if f.size > most {
		return nil, large(f.path, most)
	}
	return f.Head(f.size)
}

// Head returns the first n bytes, or as many as there are.
func (f *File) Head(n int64) ([]byte, error) {
	data := make([]byte, min(n, f.size))
	if _, err := f.ReadAt(data, 0); err != nil && len(data) > 0 {
		return nil, err
	}
	return data, nil
}
