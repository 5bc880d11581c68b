"""Server-rendered pages for people; the counter page comes here."""
