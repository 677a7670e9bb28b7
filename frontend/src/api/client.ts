// The one place that asks the server for what the screen shows. How it comes to a session is a matter of door.ts.
import createClient from "openapi-fetch";
import { fileThroughDoor, throughDoor } from "./door";
import { dropKey, keepKey, makeKey } from "./kept_key";
import type { components, paths } from "./schema";

type Schemas = components["schemas"];
export type Plan = Schemas["PlanDocument"];
export type ToothPlan = Schemas["ToothDocument"];
export type Route = Schemas["RouteDocument"];
export type Requirement = Schemas["RequirementDocument"];
export type SitePlan = Schemas["SiteDocument"];
export type Level = Schemas["LevelDocument"];
export type CaseSummary = Schemas["CaseSummaryAnswer"];
export type DamagedCase = Schemas["DamagedCaseAnswer"];
export type CaseAnswer = Schemas["CaseAnswer"];
export type Evidence = Schemas["EvidenceAnswer"];
export type StoredPlan = Schemas["StoredPlanAnswer"];
export type Problem = Schemas["ProblemAnswer"] & { newest?: CaseAnswer; taken_as?: number | null };
export type Comparison = Schemas["ComparisonAnswer"];
export type Change = Schemas["ChangeAnswer"];
export type Safety = Schemas["SafetyDocument"];
export type Procedure = Safety["procedure"];
export type SafetyPoint = Schemas["PointDocument"];
export type SafetyRules = Awaited<ReturnType<typeof safetyRules>>;
export type SafetyRule = Schemas["RuleDocument"];
export type Layer = SafetyRule["layer"];
export type RoomLine = Schemas["LineDocument"];
export type TimeOutRequest = Schemas["TimeOutRequest"];
export type Agent = Schemas["AgentAnswer"];
export type DoseSum = Schemas["DoseSumAnswer"];
export type HeatDocument = Schemas["HeatDocument"];
export type HeatRequest = Schemas["HeatRequest"];
export type HeatSection = Schemas["HeatSectionDocument"];
export type HeatSectionRequest = Schemas["HeatSectionRequest"];
export type ToothHeat = Schemas["ToothHeatDocument"];
export type HeatSector = Schemas["HeatSectorDocument"];
export type HeatStroke = Schemas["StrokeDocument"];
export type Round = Schemas["RoundAnswer"];
export type RoundEvent = Schemas["EventRequest"];
export type RestorationRequest = Schemas["RestorationRequest"];
export type RestorationsDocument = Schemas["RestorationsDocument"];
export type ToothRestoration = Schemas["ToothRestorationDocument"];
export type RouteRestoration = Schemas["RouteRestorationDocument"];
export type Stump = Schemas["StumpDocument"];
export type Post = Schemas["PostDocument"];
export type Sentence = Schemas["SentenceDocument"];
export type Hands = Schemas["HandsAnswer"];
export type RoundMark = Schemas["Mark"];
export type RecordedRound = Schemas["RecordedRoundAnswer"];
export type BridgesRequest = Schemas["BridgesRequest"];
export type BridgesDocument = Schemas["BridgesDocument"];
export type Bridge = Schemas["BridgeDocument"];
export type BridgeUnit = Schemas["UnitDocument"];
export type BridgeLoad = Schemas["LoadDocument"];
export type BridgePontic = Schemas["PonticDocument"];
export type ScannedPreparation = Schemas["PreparationDocument"];
export type Attachment = Schemas["AttachmentAnswer"];
export type AttachmentLabel = paths["/api/v1/cases/{case_id}/attachments"]["post"]["parameters"]["query"];
export type KeptBrowser = Schemas["KeptAnswer"];
export type RouteName = Route["name"];
export type PaperKind = paths["/api/v1/plans/{plan_id}/papers/{kind}"]["get"]["parameters"]["path"]["kind"];
export type CaseDocument = Record<string, unknown>;

export class Refused extends Error {
  constructor(
    readonly status: number,
    readonly problem: Problem | null,
  ) {
    super(problem?.title ?? String(status));
  }
}

const LOCKED = 423;
let whenLocked: () => void = () => undefined;

/** What is done once the record turns out to be locked. */
export function onLocked(told: () => void): void {
  whenLocked = told;
}

/** A locked record answers nothing: what asked is dropped with its screen, and waits for ever. */
async function throughLock(request: Request): Promise<Response> {
  const response = await throughDoor(request);
  if (response.status !== LOCKED || /\/api\/v1\/(?:lock|users)\b/.test(request.url)) return response;
  whenLocked();
  return new Promise<Response>(() => undefined);
}

const client = createClient<paths>({ baseUrl: ".", fetch: throughLock });
/** A body that is a file, streamed from the disk: nothing of it is read here. */
const asItIs = (file: Blob) => ({ body: file as unknown as string, bodySerializer: (body: unknown) => body as Blob });
const header = { "Collum-Session": "" }; // put in by the door

async function got<T>(answer: Promise<{ data?: T; error?: unknown; response: Response }>): Promise<T> {
  const { data, error, response } = await answer;
  if (data === undefined) {
    throw new Refused(response.status, (error as Problem | undefined) ?? null);
  }
  return data;
}

/** Keep this browser under a name: from now on it needs no link. */
export async function keepBrowser(name: string): Promise<KeptBrowser> {
  const { key, publicKey } = await makeKey();
  const kept = await got(client.POST("/api/v1/browsers", { params: { header }, body: { name, public_key: publicKey } }));
  try {
    await keepKey(kept.browser, key);
  } catch (error) {
    await forgotten(kept.browser);
    throw error;
  }
  return kept;
}

const forgotten = (browser: string) => got(client.POST("/api/v1/browsers/forget", { params: { header }, body: { browser } }));

/** Keep this browser no longer; this page goes on until it is closed. */
export async function forgetBrowser({ browser }: KeptBrowser): Promise<void> {
  await forgotten(browser);
  await dropKey(browser);
}

export type Lock = Schemas["LockAnswer"];
export const lockState = () => got(client.GET("/api/v1/lock", { params: { header } }));
export const lockRecord = (why: Schemas["LockRequest"]["why"]) => got(client.POST("/api/v1/lock", { params: { header }, body: { why } }));
export const setUpRecord = (body: Schemas["SetUpRequest"]) => got(client.POST("/api/v1/lock/set-up", { params: { header }, body }));
export const unlockRecord = (body: Schemas["UnlockRequest"]) => got(client.POST("/api/v1/lock/unlock", { params: { header }, body }));
export const recoverRecord = (body: Schemas["RecoverRequest"]) => got(client.POST("/api/v1/lock/recover", { params: { header }, body }));
export const changePassphrase = (body: Schemas["PassphraseRequest"]) =>
  got(client.POST("/api/v1/lock/passphrase", { params: { header }, body }));
export const renewRecoveryCode = (body: Schemas["RenewRequest"]) =>
  got(client.POST("/api/v1/lock/recovery-code", { params: { header }, body }));
export const confirmRecoveryCode = (body: Schemas["ConfirmRequest"]) =>
  got(client.POST("/api/v1/lock/recovery-code/confirm", { params: { header }, body }));
export const acceptRecord = (body: Schemas["UnlockRequest"]) => got(client.POST("/api/v1/lock/accept", { params: { header }, body }));
export const beginAnew = () => got(client.POST("/api/v1/lock/begin-anew", { params: { header }, body: { why: "hand" } }));
export const setUser = (body: Schemas["UserRequest"]) => got(client.POST("/api/v1/users", { params: { header }, body }));
export const removeUser = (body: Schemas["RemoveUserRequest"]) => got(client.POST("/api/v1/users/remove", { params: { header }, body }));

export type Backups = Schemas["BackupsAnswer"];
export const listBackups = () => got(client.GET("/api/v1/backups", { params: { header } }));
export const makeBackup = () => got(client.POST("/api/v1/backups", { params: { header }, body: { why: "hand" } }));
export const planBackups = (body: Schemas["PlanBackupsRequest"]) => got(client.POST("/api/v1/backups/plan", { params: { header }, body }));
export const checkBackup = (name: string) => got(client.POST("/api/v1/backups/check", { params: { header }, body: { name } }));
export type Deleted = Schemas["DeletedAnswer"];
export type DeletionReason = Schemas["DeleteRequest"]["reason"];
export const deleteCase = (case_id: string, body: Schemas["DeleteRequest"]) =>
  got(client.POST("/api/v1/cases/{case_id}/delete", { params: { header, path: { case_id } }, body }));
export type Keeping = Schemas["KeepingAnswer"];
export const keepingNow = () => got(client.GET("/api/v1/keeping", { params: { header } }));
export const setKeeping = (years: number) => got(client.POST("/api/v1/keeping", { params: { header }, body: { years } }));
export const keepCase = (case_id: string, body: Schemas["KeepCaseRequest"]) =>
  got(client.POST("/api/v1/cases/{case_id}/keep", { params: { header, path: { case_id } }, body }));
/** A case as last saved, or one save of it, to be kept as a case file in clear: an entry of the trail. */
export const giveCaseFile = (case_id: string, revision: number | null) =>
  got(client.POST("/api/v1/cases/{case_id}/case-file", { params: { header, path: { case_id } }, body: { revision } }));
/** Everything on one person, as a file. */
export const exportCase = (case_id: string, body: Schemas["GiveOutRequest"]): Promise<Blob> =>
  got<Blob>(client.POST("/api/v1/cases/{case_id}/export", { params: { header, path: { case_id } }, body, parseAs: "blob" }));
/** An archive of a person, streamed from the disk: nothing of it is read here. A passphrase travels in base 64, for a header is ASCII. */
export const importCase = (file: Blob, passphrase: string, signal: AbortSignal) =>
  got(
    client.POST("/api/v1/cases/import", {
      params: { header },
      headers: {
        "Content-Type": "application/octet-stream",
        ...(passphrase === "" ? {} : { "Collum-Passphrase": btoa(String.fromCharCode(...new TextEncoder().encode(passphrase))) }),
      },
      ...asItIs(file),
      signal,
    }),
  );
export type SentBackup = Schemas["SentBackupAnswer"];
export type Restorable = Schemas["RestorableAnswer"];
export type KnownBackup = Schemas["KnownBackup"];
export const knownBackups = () => got(client.GET("/api/v1/restore/known", { params: { header } }));
export const chooseBackup = (name: string) => got(client.POST("/api/v1/restore/choose", { params: { header }, body: { name } }));
export const sendBackup = (file: Blob, signal: AbortSignal) =>
  got(
    client.POST("/api/v1/restore/file", {
      params: { header },
      headers: { "Content-Type": "application/octet-stream" },
      ...asItIs(file),
      signal,
    }),
  );
export const lookAtBackup = (body: Schemas["RestoreRequest"]) => got(client.POST("/api/v1/restore/look", { params: { header }, body }));
export const restoreBackup = (body: Schemas["RestoreRequest"]) => got(client.POST("/api/v1/restore", { params: { header }, body }));

export const about = () => got(client.GET("/api/v1/about", { params: { header } }));
export const listCases = () => got(client.GET("/api/v1/cases", { params: { header } }));
export const openCase = (case_id: string) =>
  got(client.GET("/api/v1/cases/{case_id}", { params: { header, path: { case_id } } }));
/** A case as one of its saves has it. */
export const openRevision = (case_id: string, number: number) =>
  got(client.GET("/api/v1/cases/{case_id}/revisions/{number}", { params: { header, path: { case_id, number } } }));
/** Make a case; `key` is made once for each case that is meant, so that asking again after a lost answer makes no second. */
export const createCase = (document: CaseDocument, key: string) =>
  got(client.POST("/api/v1/cases", { params: { header }, body: { document, key } }));
/** The document in a case file, by the rules and with the faults of the command line; nothing is written. */
export const readCaseFile = (name: string, data: string) =>
  got(client.POST("/api/v1/case-file", { params: { header }, body: { name, data } }));
export const saveCase = (case_id: string, base_revision: number, document: CaseDocument, signal: AbortSignal) =>
  got(
    client.PUT("/api/v1/cases/{case_id}", {
      params: { header, path: { case_id } },
      body: { base_revision, document },
      signal,
    }),
  );
export const makePlan = (document: CaseDocument, generation: number, signal: AbortSignal) =>
  got(client.POST("/api/v1/plan", { params: { header }, body: { document, generation }, signal }));
export const judgeLines = (body: Schemas["VerdictRequest"], signal: AbortSignal) =>
  got(client.POST("/api/v1/plan/verdict", { params: { header }, body, signal }));
export const storePlan = (case_id: string, revision: number) =>
  got(client.POST("/api/v1/cases/{case_id}/plans", { params: { header, path: { case_id } }, body: { revision } }));
export const listPlans = (case_id: string) =>
  got(client.GET("/api/v1/cases/{case_id}/plans", { params: { header, path: { case_id } } }));
export const openPlan = (plan_id: string) =>
  got(client.GET("/api/v1/plans/{plan_id}", { params: { header, path: { plan_id } } }));
export const oneEvidence = (key: string) =>
  got(client.GET("/api/v1/evidence/{key}", { params: { header, path: { key } } }));
export const caseSchema = () => got(client.GET("/api/v1/schema/case", { params: { header } }));
export const comparePlans = (plan_id: string, other_id: string, tooth: number) =>
  got(
    client.GET("/api/v1/plans/{plan_id}/compare/{other_id}", {
      params: { header, path: { plan_id, other_id }, query: { tooth } },
    }),
  );
export const printPaper = (plan_id: string, kind: PaperKind, tooth: number): Promise<Blob> =>
  got<Blob>(
    client.GET("/api/v1/plans/{plan_id}/papers/{kind}", {
      params: { header, path: { plan_id, kind }, query: { tooth } },
      parseAs: "blob",
    }),
  );
export const safetyRules = () => got(client.GET("/api/v1/safety/rules", { params: { header } }));
export const assessSafety = (document: CaseDocument, procedure: Procedure, signal: AbortSignal) =>
  got(client.POST("/api/v1/safety", { params: { header }, body: { document, procedure }, signal }));
export const startVisit = (case_id: string, body: Schemas["VisitRequest"]) =>
  got(client.POST("/api/v1/cases/{case_id}/visits", { params: { header, path: { case_id } }, body }));
export const readOut = (case_id: string, body: Schemas["ReadOutRequest"]) =>
  got(client.POST("/api/v1/cases/{case_id}/read-outs", { params: { header, path: { case_id } }, body }));
export const enterTimeOut = (case_id: string, body: TimeOutRequest) =>
  got(client.POST("/api/v1/cases/{case_id}/time-outs", { params: { header, path: { case_id } }, body }));
export const enterOverride = (case_id: string, body: Schemas["OverrideRequest"]) =>
  got(client.POST("/api/v1/cases/{case_id}/overrides", { params: { header, path: { case_id } }, body }));
export const correctRecord = (case_id: string, body: Schemas["CorrectionRequest"]) =>
  got(client.POST("/api/v1/cases/{case_id}/corrections", { params: { header, path: { case_id } }, body }));
export const openCard = (plan_id: string, body: Schemas["CardRequest"]) =>
  got(client.POST("/api/v1/plans/{plan_id}/cards", { params: { header, path: { plan_id } }, body }));
export const printChecklist = (case_id: string): Promise<Blob> =>
  got<Blob>(client.GET("/api/v1/cases/{case_id}/safety/checklist", { params: { header, path: { case_id } }, parseAs: "blob" }));
export const printLetter = (case_id: string): Promise<Blob> =>
  got<Blob>(client.GET("/api/v1/cases/{case_id}/safety/letter", { params: { header, path: { case_id } }, parseAs: "blob" }));
export const doses = () => got(client.GET("/api/v1/doses", { params: { header } }));
export const sumDoses = (body: Schemas["DoseSumRequest"]) => got(client.POST("/api/v1/doses/sum", { params: { header }, body }));
export const setDoseLimit = (body: Schemas["DoseLimitRequest"]) => got(client.POST("/api/v1/doses/limits", { params: { header }, body }));
export const paceTooth = (body: HeatRequest, signal: AbortSignal) => got(client.POST("/api/v1/heat", { params: { header }, body, signal }));
export const handTimes = () => got(client.GET("/api/v1/hands", { params: { header } }));
export const keepHandTimes = (body: Schemas["HandsRequest"]) => got(client.PUT("/api/v1/hands", { params: { header }, body }));
export const judgeRestoration = (body: RestorationRequest, signal: AbortSignal) =>
  got(client.POST("/api/v1/restoration", { params: { header }, body, signal }));
export const heatSection = (body: HeatSectionRequest, signal: AbortSignal) =>
  got(client.POST("/api/v1/heat/section", { params: { header }, body, signal }));
export const startRound = (case_id: string, body: Schemas["RoundRequest"]) =>
  got(client.POST("/api/v1/cases/{case_id}/round", { params: { header, path: { case_id } }, body }));
export const roundNow = (case_id: string) => got(client.GET("/api/v1/cases/{case_id}/round", { params: { header, path: { case_id } } }));
export const markRound = (case_id: string, round_id: string, marks: RoundMark[]) =>
  got(client.POST("/api/v1/cases/{case_id}/round/marks", { params: { header, path: { case_id } }, body: { round_id, marks } }));
export const listRounds = (case_id: string) => got(client.GET("/api/v1/cases/{case_id}/rounds", { params: { header, path: { case_id } } }));
export const keepRound = (case_id: string, body: Schemas["RoundLogRequest"]) =>
  got(client.POST("/api/v1/cases/{case_id}/round/log", { params: { header, path: { case_id } }, body }));
export const judgeBridges = (body: BridgesRequest, signal: AbortSignal) => got(client.POST("/api/v1/bridges", { params: { header }, body, signal }));
export const judgePreparation = (file: Blob, query: NonNullable<paths["/api/v1/preparation"]["post"]["parameters"]["query"]>, signal: AbortSignal) =>
  got(
    client.POST("/api/v1/preparation", {
      params: { header, query },
      headers: { "Content-Type": "application/octet-stream" },
      ...asItIs(file),
      signal,
    }),
  );
export const listAttachments = (case_id: string) =>
  got(client.GET("/api/v1/cases/{case_id}/attachments", { params: { header, path: { case_id } } }));
/** What a file holds, byte for byte. */
export const openAttachment = (case_id: string, attachment_id: string): Promise<Blob> =>
  got<Blob>(
    client.GET("/api/v1/cases/{case_id}/attachments/{attachment_id}/content", {
      params: { header, path: { case_id, attachment_id } },
      parseAs: "blob",
    }),
  );
export const removeAttachment = (case_id: string, attachment_id: string, reason: string) =>
  got(client.POST("/api/v1/cases/{case_id}/attachments/{attachment_id}/remove", { params: { header, path: { case_id, attachment_id } }, body: { reason } }));
/** Keep a file with a case; `told` learns which share of it is on its way. */
export async function addAttachment(
  case_id: string,
  file: Blob,
  label: AttachmentLabel,
  thumbnail: string | null,
  told: (share: number) => void,
  signal: AbortSignal,
): Promise<Attachment> {
  const query = new URLSearchParams(Object.entries(label).filter((entry): entry is [string, string] => Boolean(entry[1])));
  const headers = { "Content-Type": "application/octet-stream", ...(thumbnail === null ? {} : { "Collum-Thumbnail": thumbnail }) };
  const response = await fileThroughDoor(`./api/v1/cases/${case_id}/attachments?${query.toString()}`, file, headers, told, signal);
  const answer: unknown = await response.json();
  if (!response.ok) throw new Refused(response.status, answer as Problem);
  return answer as Attachment;
}
