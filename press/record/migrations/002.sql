-- The lay-up file with which a run was started, as it was then.
ALTER TABLE run ADD COLUMN layup BLOB;
