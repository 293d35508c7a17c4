package rawstore

import (
	"context"
	"errors"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"

	"conewright/ts/notice"

	"github.com/minio/minio-go/v7"
	"github.com/minio/minio-go/v7/pkg/credentials"
)

// bucketStart is what the name of a place with the API of S3 begins with.
const bucketStart = "s3://"

// Open opens a place: a folder, which must be there, or s3://HOST/BUCKET/PREFIX with what is fetched in the folder
// cache. "?tls=off" reaches a store without TLS, "?region=NAME" one that asks for it. Keys are taken from
// the environment (AWS_ACCESS_KEY_ID, AWS_SECRET_ACCESS_KEY) or from the file that AWS_SHARED_CREDENTIALS_FILE names
// (usually ~/.aws/credentials).
func Open(place, cache string) (Store, error) {
	if strings.HasPrefix(place, bucketStart) {
		return newBucket(place, Folder(cache))
	}
	// A share that is not mounted must not become a folder of this machine.
	if info, err := os.Stat(place); err != nil || !info.IsDir() || !filepath.IsAbs(place) {
		return nil, notice.New("raw-no-folder", notice.Facts{"path": place}).Because(err)
	}
	return Folder(place), nil
}

// bucket is a store with the API of S3.
type bucket struct {
	client             *minio.Client
	place, name, under string
	cache              Folder
}

func newBucket(place string, cache Folder) (*bucket, error) {
	u, err := url.Parse(place)
	if err != nil || u.Host == "" || u.User != nil || strings.Trim(u.Path, "/") == "" {
		return nil, notice.New("raw-bad-address", nil) // with what may be a password
	}
	name, under, _ := strings.Cut(strings.Trim(u.Path, "/"), "/")
	client, err := minio.New(u.Host, &minio.Options{
		Creds:  credentials.NewChainCredentials([]credentials.Provider{&credentials.EnvAWS{}, &credentials.FileAWSCredentials{}}),
		Secure: u.Query().Get("tls") != "off",
		Region: u.Query().Get("region"),
	})
	if err != nil {
		return nil, notice.New("raw-bad-address", nil).Because(err)
	}
	return &bucket{client: client, place: place, name: name, under: under, cache: cache}, nil
}

// key is the name of the object: the same as that of a file in a folder.
func (b *bucket) key(hash string) string {
	key := hash[:2] + "/" + hash
	if b.under != "" {
		key = b.under + "/" + key
	}
	return key
}

// Path returns where the content is once it was fetched.
func (b *bucket) Path(hash string) string { return b.cache.Path(hash) }

// Put keeps what is read from r under its hash, in a folder of its own first: there the content is checked, and no other
// program of this machine can forget it before it is sent.
func (b *bucket) Put(ctx context.Context, hash string, r io.Reader) error {
	if have, err := b.Has(ctx, hash); have || err != nil {
		return err
	}
	if err := os.MkdirAll(string(b.cache), 0o700); err != nil {
		return err
	}
	own, err := os.MkdirTemp(string(b.cache), "put-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(own)
	checked := Folder(own)
	if err := checked.Put(ctx, hash, r); err != nil {
		return err
	}
	// In one request, which is refused as a whole where there is something.
	options := minio.PutObjectOptions{ContentType: "application/octet-stream", DisableMultipart: true}
	options.SetMatchETagExcept("*") // never over what is there
	_, err = b.client.FPutObject(ctx, b.name, b.key(hash), checked.Path(hash), options)
	if err != nil && minio.ToErrorResponse(err).StatusCode != http.StatusPreconditionFailed { // another program has put the same there meanwhile
		return b.wrong(err)
	}
	kept := b.Path(hash) // so that it need not be fetched
	if err := os.MkdirAll(filepath.Dir(kept), 0o700); err != nil {
		return err
	}
	return os.Rename(checked.Path(hash), kept)
}

// keep writes the content into the folder of what was fetched.
func (b *bucket) keep(ctx context.Context, hash string, r io.Reader) error {
	if err := os.MkdirAll(string(b.cache), 0o700); err != nil {
		return err
	}
	return b.cache.Put(ctx, hash, r)
}

// Has says whether the content is there.
func (b *bucket) Has(ctx context.Context, hash string) (bool, error) {
	_, err := b.client.StatObject(ctx, b.name, b.key(hash), minio.StatObjectOptions{})
	if minio.ToErrorResponse(err).Code == minio.NoSuchKey {
		return false, nil
	}
	return err == nil, b.wrong(err)
}

// Fetch copies the content to its path, unless it is there; what is not that of its name is refused.
func (b *bucket) Fetch(ctx context.Context, hash string) error {
	if have, err := b.cache.Has(ctx, hash); have || err != nil {
		return err
	}
	object, err := b.client.GetObject(ctx, b.name, b.key(hash), minio.GetObjectOptions{})
	if err != nil {
		return b.wrong(err)
	}
	defer object.Close()
	err = b.keep(ctx, hash, object)
	if minio.ToErrorResponse(err).Code == minio.NoSuchKey {
		return notice.New("book-lost-file", notice.Facts{"path": b.place + ": " + b.key(hash)}).Because(err)
	}
	return b.wrong(err)
}

// Forget removes what was fetched.
func (b *bucket) Forget(hash string) error { return b.cache.Remove(context.Background(), hash) }

// Remove removes the content, here and there.
func (b *bucket) Remove(ctx context.Context, hash string) error {
	err := b.client.RemoveObject(ctx, b.name, b.key(hash), minio.RemoveObjectOptions{})
	return errors.Join(b.wrong(err), b.Forget(hash))
}

// wrong says that the store cannot be used, and why.
func (b *bucket) wrong(err error) error {
	var n *notice.Notice
	if err == nil || errors.As(err, &n) {
		return err
	}
	return notice.New("raw-unreachable", notice.Facts{"path": b.place}).Because(err)
}
