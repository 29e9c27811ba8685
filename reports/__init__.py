"""Everything people read: books, calendar, pages."""
