"""Pages for a person: blocks of content made once from the checked job, and what renders them."""
