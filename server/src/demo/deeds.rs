//! What people do in the story, in the words of the trade.

use shared_types::body::{On, OnStep, The};
use shared_types::fold;
use shared_types::ids::{
    DataReferenceId, DecisionId, FindingId, HardwareId, MaterialId, NoteId, OfferId, PhotoId, ReadingId,
    SignatureId, StepId, TimeId, ToolUseId, UserId, WorksheetId,
};
use shared_types::job::{
    DataReferencePatch, DecisionPatch, FindingPatch, HardwarePatch, JobPatch, JobState, MaterialPatch,
    Moment, NotePatch, OfferPatch, Outcome, PhotoPatch, ReadingPatch, StepPatch, ToolUsePatch,
    WorksheetPatch,
};
use shared_types::order::OrderKey;
use shared_types::signature::{Capacity, Confirmed, Particulars, SignaturePatch};
use shared_types::working_time::TimePatch;
use shared_types::worksheet::WorksheetKind;

use super::people::Who;
use super::photos::{self, Picture};
use super::story::Story;
use crate::auth::keyring::Keyring;
use crate::fault::{Fault, Result};
use crate::usecases::confirm;

/// A job's story.
pub type JobStory<'a> = Story<'a, JobState>;

/// A reading: label, value, unit, least, most, where the limits come from, tool.
pub type Measured =
    (&'static str, &'static str, &'static str, &'static str, &'static str, &'static str, &'static str);

impl JobStory<'_> {
    /// Opens the job.
    pub fn open(&mut self, set: JobPatch) -> Result<()> {
        self.tell(Who::Mechanic, The { set })
    }

    /// Names a data reference.
    pub fn refer(&mut self, document: &str, revision: &str, paragraph: &str) -> Result<()> {
        let set = DataReferencePatch {
            document: Some(document.into()),
            revision: Some(revision.into()),
            paragraph: Some(paragraph.into()),
            ..DataReferencePatch::default()
        };
        self.tell(Who::Mechanic, On { id: DataReferenceId(self.id()), set })
    }

    /// Lays out steps: title, instruction, hold point.
    pub fn plan(&mut self, steps: &[(&str, &str, bool)]) -> Result<Vec<StepId>> {
        let mut last: Option<OrderKey> = None;
        let mut ids = Vec::new();
        for (title, instruction, hold_point) in steps {
            let order = OrderKey::between(last.as_ref(), None);
            let id = StepId(self.id());
            let set = StepPatch {
                title: Some((*title).into()),
                instruction: Some((*instruction).into()),
                order: Some(order.clone()),
                hold_point: hold_point.then_some(true),
                ..StepPatch::default()
            };
            self.tell(Who::Mechanic, On { id, set })?;
            last = Some(order);
            ids.push(id);
        }
        Ok(ids)
    }

    /// Starts a step, and the clock.
    pub fn start(&mut self, step: StepId, person: UserId) -> Result<TimeId> {
        let at = Some(self.now());
        let set = StepPatch { started_at: Some(at), ..StepPatch::default() };
        self.tell(Who::Mechanic, On { id: step, set })?;
        let id = TimeId(self.id());
        let set = TimePatch { person: Some(Some(person)), started_at: Some(at), ..TimePatch::default() };
        self.tell(Who::Mechanic, OnStep { id, step: Some(step), set })?;
        Ok(id)
    }

    /// Stops the clock and finishes the step.
    pub fn finish(&mut self, step: StepId, time: TimeId) -> Result<()> {
        let at = Some(self.now());
        let set = TimePatch { stopped_at: Some(at), ..TimePatch::default() };
        self.tell(Who::Mechanic, OnStep { id: time, step: Some(step), set })?;
        self.tell(
            Who::Mechanic,
            On { id: step, set: StepPatch { finished_at: Some(at), ..StepPatch::default() } },
        )
    }

    /// Skips a step.
    pub fn skip(&mut self, step: StepId, reason: &str) -> Result<()> {
        self.tell(
            Who::Mechanic,
            On { id: step, set: StepPatch { skipped: Some(reason.into()), ..StepPatch::default() } },
        )
    }

    /// Photographs.
    pub fn photo(&mut self, step: Option<StepId>, moment: Moment, file: &str) -> Result<()> {
        let Picture { digest, bytes, caption, width, height } =
            photos::picture(file).ok_or(Fault::NotFound)?;
        let set = PhotoPatch {
            digest: Some(digest),
            bytes: Some(bytes.len() as u64),
            media_type: Some("image/jpeg".into()),
            width: Some(width),
            height: Some(height),
            moment: Some(moment),
            caption: Some(caption.into()),
            taken_at: Some(Some(self.now())),
            ..PhotoPatch::default()
        };
        self.tell(Who::Mechanic, OnStep { id: PhotoId(self.id()), step, set })
    }

    /// Notes something.
    pub fn note(&mut self, who: Who, step: StepId, moment: Moment, text: &str) -> Result<()> {
        let set = NotePatch { text: Some(text.into()), moment: Some(moment), ..NotePatch::default() };
        self.tell(who, OnStep { id: NoteId(self.id()), step: Some(step), set })
    }

    /// Measures.
    pub fn measure(&mut self, step: StepId, moment: Moment, measured: Measured) -> Result<()> {
        let (label, value, unit, minimum, maximum, source, tool) = measured;
        let set = ReadingPatch {
            label: Some(label.into()),
            value: Some(value.into()),
            unit: Some(unit.into()),
            minimum: Some(minimum.into()),
            maximum: Some(maximum.into()),
            limit_source: Some(source.into()),
            tool: Some(tool.into()),
            moment: Some(moment),
            measured_at: Some(Some(self.now())),
            ..ReadingPatch::default()
        };
        self.tell(Who::Mechanic, OnStep { id: ReadingId(self.id()), step: Some(step), set })
    }

    /// Uses hardware, from the shelf if its batch is there.
    pub fn hardware(&mut self, step: StepId, set: HardwarePatch) -> Result<()> {
        let set = HardwarePatch { stock: Some(self.on_shelf(set.batch.as_ref())), ..set };
        self.tell(Who::Mechanic, OnStep { id: HardwareId(self.id()), step: Some(step), set })
    }

    /// Uses material, from the shelf if its batch is there.
    pub fn material(&mut self, step: StepId, set: MaterialPatch) -> Result<()> {
        let set = MaterialPatch { stock: Some(self.on_shelf(set.batch.as_ref())), ..set };
        self.tell(Who::Mechanic, OnStep { id: MaterialId(self.id()), step: Some(step), set })
    }

    /// Uses a tool.
    pub fn tool(&mut self, step: StepId, set: ToolUsePatch) -> Result<()> {
        self.tell(Who::Mechanic, OnStep { id: ToolUseId(self.id()), step: Some(step), set })
    }

    /// Asks for a worksheet.
    pub fn ask(&mut self, step: StepId, kind: &str, title: &str, input: serde_json::Value) -> Result<()> {
        let set = WorksheetPatch {
            kind: Some(WorksheetKind(kind.to_owned())),
            title: Some(title.into()),
            input: Some(input),
            ..WorksheetPatch::default()
        };
        self.tell(Who::Mechanic, OnStep { id: WorksheetId(self.id()), step: Some(step), set })
    }

    /// Offers a step.
    pub fn offer(&mut self, step: StepId, note: &str) -> Result<OfferId> {
        let id = OfferId(self.id());
        let coverage = self.state.step_coverage(step);
        let set = OfferPatch { note: Some(note.into()), coverage: Some(coverage), ..OfferPatch::default() };
        self.tell(Who::Mechanic, OnStep { id, step: Some(step), set })?;
        Ok(id)
    }

    /// Accepts an offer.
    pub fn accept(&mut self, step: StepId, offer: OfferId, remark: &str) -> Result<()> {
        self.decide(step, offer, Outcome::Accept, remark).map(|_| ())
    }

    /// Returns an offer with findings.
    pub fn send_back(&mut self, step: StepId, offer: OfferId, findings: &[&str]) -> Result<Vec<FindingId>> {
        let decision = self.decide(step, offer, Outcome::Return, "")?;
        let mut ids = Vec::new();
        for text in findings {
            let id = FindingId(self.id());
            let set = FindingPatch {
                decision: Some(decision),
                text: Some((*text).into()),
                ..FindingPatch::default()
            };
            self.tell(Who::Inspector, OnStep { id, step: Some(step), set })?;
            ids.push(id);
        }
        Ok(ids)
    }

    /// Answers a finding.
    pub fn answer(&mut self, step: StepId, finding: FindingId, text: &str) -> Result<()> {
        let set = FindingPatch { answer: Some(text.into()), ..FindingPatch::default() };
        self.tell(Who::Mechanic, OnStep { id: finding, step: Some(step), set })
    }

    fn decide(&mut self, step: StepId, offer: OfferId, outcome: Outcome, remark: &str) -> Result<DecisionId> {
        let id = DecisionId(self.id());
        let set = DecisionPatch {
            offer: Some(offer),
            outcome: Some(outcome),
            remark: Some(remark.into()),
            coverage: Some(self.state.step_coverage(step)),
            ..DecisionPatch::default()
        };
        self.tell(Who::Inspector, OnStep { id, step: Some(step), set })?;
        Ok(id)
    }

    /// Approves the return to service: the lead signs the job as it stands, confirmed by password.
    pub fn approve(
        &mut self,
        server: &Keyring,
        name: &str,
        (kind, number): (&str, &str),
        statement: &str,
    ) -> Result<()> {
        let (who, capacity) = (Who::Lead, Capacity::ApprovedForReturn);
        let (id, coverage) = (SignatureId(self.id()), self.state.job_coverage());
        // The server answers a worksheet as soon as whoever asked has sent what they did.
        let before = self.count() + self.state.worksheets.values().count();
        let particulars = Particulars {
            name: name.into(),
            certificate_kind: kind.into(),
            certificate: number.into(),
            seq: before as u64,
            fold: fold::name(),
        };
        let confirmed = Confirmed {
            log: self.log(),
            signature: id,
            user: self.user(who)?,
            capacity,
            coverage: coverage.digest,
            statement: statement.into(),
            at: self.now(),
            particulars: Some(particulars),
        };
        let set = SignaturePatch {
            statement: Some(statement.into()),
            name: Some(name.into()),
            certificate: Some(number.into()),
            certificate_kind: Some(kind.into()),
            coverage: Some(coverage),
            capacity: Some(capacity),
            confirmation: Some(Some(confirm::sign(server, &confirmed))),
            ..SignaturePatch::default()
        };
        self.tell(who, On { id, set })
    }

    /// Closes the job.
    pub fn close(&mut self, statement: &str) -> Result<()> {
        let set = JobPatch {
            closed_at: Some(Some(self.now())),
            closing_statement: Some(statement.into()),
            ..JobPatch::default()
        };
        self.tell(Who::Lead, The { set })
    }
}
