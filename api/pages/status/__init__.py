"""What customers and strangers see: the story behind a link, the page behind a tag, the feed."""
