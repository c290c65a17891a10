// SPDX-License-Identifier: GPL-3.0-or-later
// Where page and application are one document (src/web/onefile/alone.js), what it adds to the views:
// {draws(kind), jobs(), keep(), settings()}. Null with a server behind the page.

export const alone = globalThis.dropwiseAlone || null;
