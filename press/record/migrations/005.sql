-- Whether the samples of a run were thinned further once it was over.
ALTER TABLE run ADD COLUMN thinned INTEGER NOT NULL DEFAULT 0;
