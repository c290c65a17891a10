// SPDX-License-Identifier: GPL-3.0-or-later
// Does one task on a copy of the shelf: answers the request that began it, then what it asked for.
//
// A worker at work hears nothing, so a plan that may take long is made twice: first in a moment, which is
// kept in case that one stops it, then in the time that is left.

const MOMENT = 1000; // ms

const read = (reply) => JSON.parse(new TextDecoder().decode(reply.bytes));

// {result, error, shelf: bytes if they changed, proven}
function once(app, request, shelf) {
  app.open(shelf);
  try {
    const before = app.state();
    const { token } = read(app.ask({ method: 'GET', path: '/api/session' }));
    app.ask({ ...request, token });
    const done = app.run();
    const key = request.path === '/api/plans' && done.result && JSON.parse(done.result).plan;
    const proven = !key || !['within', 'stopped'].includes(read(app.ask({ method: 'GET', path: `/api/plans/${key}` })).status);
    return { ...done, proven, shelf: app.state() === before ? null : app.shelf() };
  } finally { app.close(); }
}

// So much work gives the same plan everywhere: such a plan is made once. `early` hears what there is after a moment, where more is to come.
export function plan(app, { request, shelf }, early = () => {}) {
  const body = request.path === '/api/plans' ? JSON.parse(request.body) : {};
  const time = body.time_ms || (request.path === '/api/plans' ? 10000 : 0);
  if (time < 2 * MOMENT || body.quick || body.work) return once(app, request, shelf);
  const first = once(app, { ...request, body: JSON.stringify({ ...body, time_ms: MOMENT }) }, shelf);
  if (first.proven) return first;
  early(first);
  return once(app, { ...request, body: JSON.stringify({ ...body, time_ms: time - MOMENT }) }, shelf);
}
