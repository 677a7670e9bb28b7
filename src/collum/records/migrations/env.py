"""Runs the migrations on the connection it is given, inside the transaction that connection is in."""

from alembic import context

context.configure(connection=context.config.attributes["connection"], transactional_ddl=True)
with context.begin_transaction():
    context.run_migrations()
