//! What the public types are made of: all may be shared between threads, and the small ones stay small.
#![cfg(feature = "alloc")]

use core::mem::size_of;

use counterpoise::checks::{
    AddedWeight, Examination, Explanation, ExplanationKind, Findings, Item, LeftOut, NextRun, NextRunStart,
    Plane, Ranked, Repair, Resonance, Separation, Verdict, WhatToLookAt,
};
use counterpoise::first_weight::{
    FirstWeight, FirstWeightCaution, Polarity, Regime, Sensor, SizeRule, StartingReason,
};
use counterpoise::job::{
    Change, CheckResult, Entry, Fact, JobRun, Machine, MachinePart, OneShot, Pieces, Record, State,
    StatedReading, StoredCoefficients, WeightInRuns, WeightOn, WeightPlace,
};
use counterpoise::readiness::{
    BalancingSpeed, BladeAngles, BladeTrack, Concern, Facts, Finding, FoundVibration, Later,
    LaterExplanation, LaterFindings, Moment, Question, RankedChange, RatedSpeed, Reminder, Roughness,
    SpeedInUse,
};
use counterpoise::relocation::{
    CappedPlace, Combination, LeastMass, LeastMassSplit, MassPrice, MassStep, Material, NearestPlace,
    NearestReachable, Neighbours, OtherPlane, Part, Place, PlaneUnbalance, Replacement, StaticCouple,
    UnbalanceMoment,
};
use counterpoise::synchronous::{
    Edge, Extraction, GearRatio, Mark, MarkPattern, Order, OrderShare, PulseGate, PulseTrain, ResponsePoint,
    Rotation, SensorChain, SpeedSlope, SpeedSummary, Stream, Stretch, Sweep, SweepPeak, SweepPoint,
    SynchronousVector, TachLevels, TachReader, VectorCaution, WithUncertainty,
};
use counterpoise::tolerance::{
    Allocation, BalanceGrade, GuardBand, IndexedByHalfTurn, MachineClass, MachineGroup, OwnScale,
    PropellerLimits, PropellerVibration, ScaleStep, SeverityZones, ShareLimits, StaticCoupleLimits, Support,
    TolerancePlanes, Zone,
};
use counterpoise::without_phase::{Ambiguity, ClosedForm, Outcome, Solution, Trial};
use counterpoise::{
    Angle, Caution, Certificate, Channel, ChannelFit, ChiSquared, Conformity, Convention, Correction,
    CorrectionError, CorrectionEstimate, CorrectionQuestion, CorrectionRegion, Covariance, DegreesOfFreedom,
    Design, Detectability, Detector, Estimate, EstimateError, Estimator, ExaminationError, ExpectedOptimum,
    FirstWeightError, Force, ForceUnit, HoleCircle, HoleNeighbours, Influence, InfluenceFit, InfluenceMatrix,
    Inseparable, JobError, Length, LengthUnit, Limit, Location, Mass, MassUnit, MotionQuantity,
    NamedViewpoint, NumberedHoles, Objective, OnePlane, PhaseSense, Precision, Prior, ProportionalDrift,
    Provenance, ProvenanceKind, QuantityError, Radius, ReadinessError, Reading, ReadingError,
    RelocationError, Repeats, RotorAngle, RotorSense, Run, Scatter, Simulated, Speed, SpeedLaw, SpeedUnit,
    SpeedWindow, SynchronousError, ToleranceError, TrialDesign, TrialOutcome, TrialResponse, Turning,
    TwoPlaneRun, TwoPlanes, Unbalance, UnbalanceUnit, UnbalanceVector, Uncertainty, UncertaintyError,
    Undetermined, Vibration, VibrationScale, VibrationUnit, View, ViewError, Viewpoint, Weight,
    WithoutPhaseError,
};

/// Compiles only for a type that may be sent to another thread and shared with it.
const fn shared<T: Send + Sync + 'static>() {}

macro_rules! all_shared {
    ($($Type:ty),+ $(,)?) => { const _: () = { $(shared::<$Type>();)+ }; };
}

all_shared!(
    AddedWeight,
    BalancingSpeed,
    BladeAngles,
    BladeTrack,
    Concern,
    Facts,
    Finding,
    FoundVibration,
    Later,
    LaterExplanation,
    LaterFindings,
    Moment,
    Question,
    RankedChange,
    RatedSpeed,
    ReadinessError,
    Reminder,
    Roughness,
    SpeedInUse,
    Allocation,
    BalanceGrade,
    GuardBand,
    IndexedByHalfTurn,
    Limit<Length>,
    MachineClass,
    MachineGroup,
    OwnScale<'static>,
    PropellerLimits,
    PropellerVibration,
    ProportionalDrift,
    Provenance,
    ProvenanceKind,
    ScaleStep<'static>,
    SeverityZones,
    ShareLimits,
    StaticCoupleLimits,
    Support,
    ToleranceError,
    TolerancePlanes,
    Zone,
    Edge,
    WithUncertainty,
    Extraction<2>,
    GearRatio,
    Mark,
    MarkPattern,
    Order,
    OrderShare,
    PulseGate,
    PulseTrain,
    ResponsePoint,
    Rotation<'static>,
    SensorChain<'static>,
    SpeedSlope,
    SpeedSummary,
    Stream<2, 64>,
    Stretch,
    Sweep,
    SweepPeak,
    SweepPoint,
    SynchronousError,
    SynchronousVector<2>,
    TachLevels,
    TachReader,
    VectorCaution,
    Ambiguity,
    Angle,
    CappedPlace,
    Caution,
    Certificate,
    Change,
    Channel,
    ChannelFit,
    CheckResult,
    ChiSquared,
    ClosedForm,
    Combination,
    Convention,
    Correction,
    CorrectionError,
    CorrectionQuestion<'static>,
    Covariance,
    Design,
    Detector,
    Entry,
    EstimateError,
    Estimator,
    Examination,
    ExaminationError,
    Fact,
    JobError,
    JobRun,
    Machine,
    MachinePart,
    OneShot,
    Pieces,
    Record,
    State,
    StatedReading,
    StoredCoefficients,
    WeightInRuns,
    WeightOn,
    WeightPlace,
    Explanation,
    ExplanationKind,
    Findings,
    FirstWeight<'static>,
    FirstWeightCaution,
    FirstWeightError,
    Force,
    ForceUnit,
    HoleCircle,
    HoleNeighbours,
    Influence,
    InfluenceFit,
    InfluenceMatrix,
    Inseparable,
    Item,
    LeftOut,
    LeastMass,
    LeastMassSplit,
    Length,
    LengthUnit,
    Location,
    Mass,
    MassPrice,
    MassStep,
    MassUnit,
    Material,
    MotionQuantity,
    NamedViewpoint,
    NearestPlace,
    NearestReachable,
    Neighbours,
    NextRun,
    NextRunStart,
    NumberedHoles,
    Objective,
    OnePlane,
    OtherPlane<'static>,
    Outcome,
    Part,
    PhaseSense,
    Place,
    PlaneUnbalance,
    Plane,
    Polarity,
    Precision,
    Prior,
    QuantityError,
    Radius,
    Ranked,
    Reading,
    ReadingError,
    Regime,
    RelocationError,
    Replacement,
    Repair,
    Resonance,
    RotorAngle,
    RotorSense,
    Run,
    Sensor,
    Separation,
    SizeRule<'static>,
    Solution,
    Speed,
    SpeedLaw,
    SpeedUnit,
    SpeedWindow,
    StartingReason,
    StaticCouple,
    Trial,
    Turning,
    TwoPlaneRun,
    TwoPlanes,
    Unbalance,
    UnbalanceMoment,
    UnbalanceUnit,
    UnbalanceVector,
    Undetermined,
    Vibration,
    Verdict,
    WhatToLookAt,
    VibrationScale,
    VibrationUnit,
    View,
    ViewError,
    Viewpoint,
    Weight,
    Conformity,
    CorrectionEstimate,
    CorrectionRegion,
    DegreesOfFreedom,
    Detectability,
    Estimate<Vibration>,
    ExpectedOptimum,
    Repeats,
    Scatter,
    Simulated,
    TrialDesign,
    TrialOutcome,
    TrialResponse,
    Uncertainty,
    UncertaintyError,
    WithoutPhaseError,
);

#[test]
fn quantities_are_the_size_of_their_numbers() {
    for size in [
        size_of::<Angle>(),
        size_of::<RotorAngle>(),
        size_of::<Mass>(),
        size_of::<Length>(),
        size_of::<Radius>(),
        size_of::<Speed>(),
        size_of::<Unbalance>(),
        size_of::<Force>(),
    ] {
        assert_eq!(size, 8);
    }
    for size in
        [size_of::<Vibration>(), size_of::<UnbalanceVector>(), size_of::<Influence>(), size_of::<OnePlane>()]
    {
        assert_eq!(size, 16);
    }
    assert_eq!(size_of::<Weight>(), 24);
    assert_eq!(size_of::<SpeedWindow>(), 24);
    assert_eq!(size_of::<Place>(), 16);
    assert_eq!(size_of::<PlaneUnbalance>(), 24);
    assert_eq!(size_of::<TwoPlanes>(), 64);
    assert_eq!(size_of::<TwoPlaneRun>(), 64);
}

#[test]
fn units_and_senses_are_bytes() {
    assert_eq!(size_of::<PhaseSense>(), 1);
    assert_eq!(size_of::<RotorSense>(), 1);
    assert_eq!(size_of::<Convention>(), 2);
    assert_eq!(size_of::<VibrationUnit>(), 2);
    // Three speeds, and the sensor, the unit, the sense and the law in one word.
    assert_eq!(size_of::<Channel>(), 32);
    assert_eq!(size_of::<Option<Channel>>(), 32);
    // Three numbers of a covariance, and how well it is known.
    assert_eq!(size_of::<Scatter>(), 40);
    assert_eq!(size_of::<Precision>(), 40);
    assert_eq!(size_of::<Reading>(), 96);
}

#[test]
fn errors_are_no_larger_than_what_they_report() {
    assert!(size_of::<QuantityError>() <= 48);
    assert!(size_of::<ReadingError>() <= 48);
    assert!(size_of::<EstimateError>() <= 64);
    assert!(size_of::<ExaminationError>() <= 32);
    assert!(size_of::<CorrectionError>() <= 56);
    assert!(size_of::<FirstWeightError>() <= 48);
    assert!(size_of::<RelocationError>() <= 48);
    assert!(size_of::<WithoutPhaseError>() <= 24);
}

mod placement {
    use super::shared;
    use counterpoise::{
        ContinuousCertificate, ContinuousPlacement, ContinuousQuestion, Hardware, Hole, HoleChange, HoleMass,
        HoleRing, Placement, PlacementAnswer, PlacementCertificate, PlacementError, PlacementNorm,
        PlacementProof, PlacementQuestion, PlacementSearch, PlacementTolerance, ToleranceReason,
    };

    all_shared!(
        ContinuousCertificate,
        ContinuousPlacement,
        ContinuousQuestion,
        Hardware,
        Hole,
        HoleChange,
        HoleMass,
        HoleRing,
        Placement,
        PlacementAnswer,
        PlacementCertificate,
        PlacementError,
        PlacementNorm,
        PlacementProof,
        PlacementQuestion,
        PlacementSearch,
        PlacementTolerance,
        ToleranceReason,
    );
}
