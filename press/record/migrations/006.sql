-- The relative humidity of the room's air, in tenths of a per cent, as the others:
-- mean, and how far below and above it the samples reached.
ALTER TABLE thin ADD COLUMN humidity INTEGER;
ALTER TABLE thin ADD COLUMN humidity_lo INTEGER;
ALTER TABLE thin ADD COLUMN humidity_hi INTEGER;
