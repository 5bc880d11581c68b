// At the counter: an axle judged, its verdicts judged again, a sentence for the customer. The vehicle is invented.
// The vehicle maker's service data, the law of the place and a licensed technician go before every answer.

import { randomUUID } from "node:crypto";
import createClient from "openapi-fetch";
import type { components, paths } from "./contract.js";

type Schemas = components["schemas"];

function setting(name: string): string {
  const value = process.env[name];
  if (value === undefined) {
    throw new Error(`${name} is not set`);
  }
  return value;
}

const client = createClient<paths>({
  baseUrl: setting("TURNRULE_URL"),
  headers: { Authorization: `Bearer ${setting("TURNRULE_KEY")}` },
});

function told(problem: Schemas["Problem"]): Error {
  const faults = problem.errors.map((fault) => `${fault.pointer}: ${fault.detail}`);
  return new Error([`${problem.title}. ${problem.detail}`, ...faults].join("\n  "));
}

const axle: Schemas["AxleVerdictRequest"] = {
  unit: "mm",
  kind: "rotor",
  application: { make: "Corvane", model: "Ostrel", year: 2022, axle: "front", brake_option: "B16" },
  instrument: { resolution: 0.01, expanded_uncertainty: 0.004 },
  vehicle: { label: "unit 114", odometer: { value: 61200, unit: "km" } },
  left: { thickness: [25.02, 25.01, 25.03, 25.04], lateral_runout: 0.07, setup_runout: 0.01 },
  right: { thickness: [24.41, 24.4, 24.42, 24.41], lateral_runout: 0.02, setup_runout: 0.01 },
};

async function judge(): Promise<Schemas["AxleVerdict"]> {
  const { data, error } = await client.POST("/v1/axle-verdicts", {
    params: { header: { "Idempotency-Key": randomUUID() } },
    body: axle,
  });
  if (data === undefined) {
    throw told(error);
  }
  return data;
}

async function again(id: string): Promise<Schemas["Replay"]> {
  const { data, error } = await client.POST("/v1/verdicts/{verdict_id}/replays", {
    params: { path: { verdict_id: id } },
    body: {},
  });
  if (data === undefined) {
    throw told(error);
  }
  return data;
}

const verdict = await judge();
console.log(`${verdict.verdict.toUpperCase()}: ${verdict.summary}`);
for (const side of [verdict.sides.left, verdict.sides.right]) {
  if (side !== null) {
    const replay = await again(side.verdict_id);
    if (!replay.identical) {
      throw new Error(`verdict ${side.verdict_id} does not come out as it was recorded: ${replay.differs.join(", ")}`);
    }
    console.log(`verdict ${side.verdict_id}: judged again, the same to the byte`);
  }
}
for (const caution of verdict.cautions) {
  console.log(`${caution.level}: ${caution.text}`);
}
