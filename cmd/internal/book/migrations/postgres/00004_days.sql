-- +goose Up
-- The results of some days are wanted every night, out of a book of years.
CREATE INDEX result_measured ON result (measured);
