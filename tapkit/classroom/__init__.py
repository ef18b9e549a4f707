"""Running a class: rosters, paper sheets, marks."""
