// What a touch here sends. The server's answer is a sentence; what it changed comes by the stream.
export class Commands {
  constructor(page, show) {
    this.page = page;
    this.show = show;
  }

  async send(name, body = {}) {
    try {
      const answer = await fetch(`api/${name}`, {
        method: "POST",
        headers: { "content-type": "application/json", "x-snapgloss-page": this.page },
        body: JSON.stringify(body),
      });
      const found = await answer.json().catch(() => ({}));
      this.show(answer.ok ? "" : [found.error, found.remedy].filter(Boolean).join(" "));
      return answer.ok;
    } catch {
      this.show("–");
      return false;
    }
  }
}
