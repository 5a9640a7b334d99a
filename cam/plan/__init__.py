"""Settings -> operations -> passes: what is cut in which order, how deep, how fast."""

from cam.plan.job import plan_job, plan_setting
from cam.plan.model import Measure, Operation, Pass, Plan, SettingPlan

__all__ = ["Measure", "Operation", "Pass", "Plan", "SettingPlan", "plan_job", "plan_setting"]
