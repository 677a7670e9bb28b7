// Whether the restoration of one tooth of the draft will hold.
import * as api from "../api/client";
import { Asked } from "./asked.svelte";

export class Restoration extends Asked<api.RestorationRequest, api.RestorationsDocument> {
  constructor() {
    super(api.judgeRestoration);
  }

  get tooth(): api.ToothRestoration | null {
    return this.answer?.teeth[0] ?? null;
  }

  ask(document: api.CaseDocument, tooth: number): void {
    this.put({ document, tooth }, tooth);
  }
}

/** The answer on the route the plan stands on, else on the first that was answered. */
export function routeBeside(tooth: Pick<api.ToothRestoration, "routes">, ofPlan: api.RouteName | undefined): api.RouteRestoration | null {
  return tooth.routes.find((one) => one.route === ofPlan) ?? tooth.routes[0] ?? null;
}

/** What is said in short, by what it is for: the headline, what lacks, what would make it hold (the end of the answer). */
export function sorted({ answer, would_hold: would }: Pick<api.RouteRestoration, "answer" | "would_hold">): {
  head: string;
  lacks: string[];
  would: string[];
} {
  const [head, ...lacks] = answer.slice(0, answer.length - would.length).map(({ text }) => text);
  return { head: head ?? "", lacks, would: would.map(({ text }) => text) };
}
