"""Cable runs, string cables, battery links and the earth conductor."""
