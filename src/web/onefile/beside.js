// SPDX-License-Identifier: GPL-3.0-or-later
// The planner as the keeper sees it: a worker at the other end of a port, begun anew by the page
// where one has failed or was stopped.

export class Beside {
  // `renew` asks the page for another one, whose port comes by `take`.
  constructor(renew) {
    this.renew = renew;
    this.wait();
  }

  wait() {
    this.port = new Promise((come) => { this.come = come; });
    this.renew();
  }

  take(port) {
    this.come(port);
  }

  failed(why) {
    this.wait();
    this.drop?.(new Error(why));
  }

  // {ended, stop}. Stopped, it ends with what there was after a moment.
  run(work, progress) {
    let early = null, asked = false;
    const ended = new Promise((done, drop) => {
      const halt = () => {
        this.wait();
        done(early);
      };
      this.drop = drop;
      this.halt = () => {
        asked = true;
        if (early) halt();
      };
      this.port.then((port) => {
        port.onmessage = ({ data }) => {
          if (data.progress) progress(data.progress);
          else if (data.early) {
            early = data.early;
            if (asked) halt();
          } else if (data.done) done(data.done);
          else this.failed(data.failed);
        };
        port.postMessage(work);
      });
    });
    return { ended, stop: () => this.halt() };
  }
}
