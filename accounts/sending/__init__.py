"""What speaks to other machines: mail and webhooks. Never inside a transaction, and never without a time limit."""
