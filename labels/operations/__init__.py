"""What people do with tags: mint, bind, replace and retire them. One action, one transaction."""
