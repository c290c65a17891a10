// SPDX-License-Identifier: GPL-3.0-or-later
// Does one task on a copy of the shelf: answers the request that began it, then what it asked for.

// {request, shelf} -> {result, error, shelf: bytes if they changed}
export function plan(app, { request, shelf }) {
  app.open(shelf);
  try {
    const before = app.state();
    const session = JSON.parse(new TextDecoder().decode(app.ask({ method: 'GET', path: '/api/session' }).bytes));
    app.ask({ ...request, token: session.token });
    const done = app.run();
    return { ...done, shelf: app.state() === before ? null : app.shelf() };
  } finally { app.close(); }
}
